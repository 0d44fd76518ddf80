import { describe, expect, it } from "vitest";
import { laid, type Event, type Laid } from "./laid";

/** Numbers that look drawn by lot and are the same each time: the generator of Lehmer, as Park and Miller (1988) set it. */
function* lot(seed: number): Generator<number> {
  for (let at = seed; ; at = (at * 16807) % 2147483647) yield at / 2147483647;
}

const touch = (a: Laid<Event>, b: Laid<Event>): boolean => a.row === b.row && a.low < b.high && b.low < a.high;
/** The line of one goes down from its row: it runs through the name of another that stands lower. */
const crossed = (a: Laid<Event>, b: Laid<Event>): boolean => {
  const [from, to] = b.before ? [b.low, b.low + b.wide] : [b.high - b.wide, b.high];
  return a.row > b.row && a.x > from && a.x < to;
};

describe("names over a strip", () => {
  it.each([350, 1300])("never touch and are never crossed, %d wide", (right) => {
    const next = lot(7);
    const draw = (): number => next.next().value as number;
    for (let round = 0; round < 100; round++) {
      const events = Array.from({ length: 12 }, () => ({ x: draw() * draw() * right, half: draw() * 12, wide: 30 + 80 * draw() }));
      events.sort((a, b) => a.x - b.x);
      const found = laid(events, right);
      const wrong = found.flatMap((a) => found.filter((b) => a !== b && (touch(a, b) || crossed(a, b))).map((b) => [round, a, b]));
      expect(wrong).toEqual([]);
    }
  });

  it("use one row where there is room, and the left side at the right end", () => {
    const apart = [0, 200, 400].map((x) => ({ x, half: 2, wide: 60 }));
    expect(laid(apart, 420).map((one) => [one.row, one.before])).toEqual([
      [0, false],
      [0, false],
      [0, true],
    ]);
  });
});
