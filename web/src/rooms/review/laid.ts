/** Where the names of events stand over a strip: no two run together, and no line of another runs through one. */

export interface Event {
  /** Where its line stands. */
  x: number;
  /** How far its error reaches to either side. */
  half: number;
  /** How wide its name is written. */
  wide: number;
}
export type Laid<One> = One & {
  /** Rows above the lowest; the line reaches up to it. */
  row: number;
  /** The name stands to the left of its line. */
  before: boolean;
  /** From where to where its error and its name reach. */
  low: number;
  high: number;
};

/** Between a line, or the end of its error, and its name. */
export const GAP = 4;
const APART = 8;

/**
 * Lay out events that are sorted by place. Names stand to the right of their lines and rise to the left like stairs, so
 * that what comes later begins below them. A name that would leave the strip stands to the left of its line, as does one
 * that would run over the line of such a name; those rise to the right.
 */
export function laid<One extends Event>(events: readonly One[], right: number): Laid<One>[] {
  const sides: boolean[] = [];
  for (let i = events.length - 1; i >= 0; i--) {
    const one = events[i]!;
    const end = one.x + one.half + GAP + one.wide;
    sides[i] = end > right || events.some((other, k) => k > i && sides[k] && other.x - other.half <= end + APART);
  }
  const found: Laid<One>[] = events.map((one, i) => {
    const out = one.half + GAP + one.wide;
    const before = sides[i] ?? false;
    return { ...one, before, row: -1, low: one.x - (before ? out : one.half), high: one.x + (before ? one.half : out) };
  });
  const order = [...found.filter((one) => !one.before).reverse(), ...found.filter((one) => one.before)];
  for (const one of order) {
    const placed = found.filter((other) => other.row >= 0);
    // Above every line that its name crosses, and in a row where nothing stands in the way.
    one.row = Math.max(0, ...placed.filter((other) => other.x > one.low - APART && other.x < one.high + APART).map((other) => other.row + 1));
    while (placed.some((other) => other.row === one.row && other.low < one.high + APART && other.high > one.low - APART)) one.row += 1;
  }
  return found;
}
