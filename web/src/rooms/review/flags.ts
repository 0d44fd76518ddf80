/** The events of a launch as flags over its strip. */
import type { Shapes } from "../../lib/api/types";
import { laid, type Event, type Laid } from "./laid";

export type Launch = Shapes["ReviewAnswer_launch"];
type Flag = Laid<Event & { key: string; words: string }>;

/** The time of the recording that the strip counts from: release, else where the launch begins. */
export const zeroOf = (launch: Launch): number => launch.events.release?.t_s ?? launch.from_s;

/** Events between two times as flags; `letter` is the width of a letter. */
export function flagsOf(
  launch: Launch,
  names: Record<string, string>,
  place: (time: number) => number,
  span: { from: number; until: number; right: number; letter: number },
): Flag[] {
  const zero = zeroOf(launch);
  const events = Object.entries(launch.events)
    .map(([key, event]) => ({ key, words: names[key] ?? key, at: event.t_s - zero, error: event.error_s }))
    .filter((one) => one.at >= span.from && one.at <= span.until)
    .sort((a, b) => a.at - b.at)
    .map((one) => {
      const x = place(one.at);
      return { ...one, x, half: Math.max(0.5, place(one.at + one.error) - x), wide: span.letter * one.words.length };
    });
  return laid(events, span.right);
}

/** The samples of a course between two times, and one more at either side. */
export function between(times: readonly number[], from: number, until: number): [number, number] {
  const first = Math.max(0, times.findIndex((t) => t >= from) - 1);
  const last = times.findLastIndex((t) => t <= until);
  return [first, Math.min(times.length, last + 2)];
}
