/** Where the names of events stand over a strip, so that no two run together. */
import type { Shapes } from "../../lib/api/types";

export type Launch = Shapes["ReviewAnswer_launch"];

interface Flag {
  key: string;
  words: string;
  at: number;
  error: number;
  x: number;
  row: number;
  /** The name stands to the left of its line. */
  before: boolean;
}

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
    .sort((a, b) => a.at - b.at);
  const ends: number[] = [];
  return events.map((one) => {
    const x = place(one.at);
    const wide = span.letter * one.words.length + 12;
    const before = x + wide > span.right;
    const start = before ? x - wide : x;
    let row = ends.findIndex((end) => end <= start);
    if (row < 0) row = ends.push(0) - 1;
    ends[row] = Math.max(x, start + wide);
    return { ...one, x, row, before };
  });
}

/** The samples of a course between two times, and one more at either side. */
export function between(times: readonly number[], from: number, until: number): [number, number] {
  const first = Math.max(0, times.findIndex((t) => t >= from) - 1);
  const last = times.findLastIndex((t) => t <= until);
  return [first, Math.min(times.length, last + 2)];
}
