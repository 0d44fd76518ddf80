/** Launches as the pictures take them: paths, ribbons over distance, and the samples of one launch. */
import type { Shapes } from "./api/types";
import { quantile } from "./scale";

export type FanPath = Shapes["FanPath"];
export type FanSide = Shapes["FanSide"];
export type Trace = Shapes["TraceAnswer"];
export type Scene = Shapes["SceneAnswer"];
export type Site = Shapes["SceneSite"];

const LEVELS = [0.05, 0.25, 0.5, 0.75, 0.95] as const;
const KNOTS = 160;
const ON_THE_GROUND_M = 0.5;
/** Tip speeds that scratched and cut a skin substitute in one published test; none is called harmless. */
export const SCRATCH_MPS = 25;
export const CUT_MPS = 60;

/** Value of a straight-line table at a place; the ends go on level, or as told. */
export function at(xs: readonly number[], ys: readonly number[], x: number, beyond?: number): number {
  const last = xs.length - 1;
  if (last < 0) return NaN;
  if (x <= (xs[0] ?? 0)) return ys[0] ?? NaN;
  if (x >= (xs[last] ?? 0)) return x > (xs[last] ?? 0) && beyond !== undefined ? beyond : (ys[last] ?? NaN);
  let [low, high] = [0, last];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((xs[middle] ?? 0) <= x) low = middle;
    else high = middle;
  }
  const [a = 0, b = 0, c = 0, d = 0] = [xs[low], xs[high], ys[low], ys[high]];
  return b === a ? d : c + ((d - c) * (x - a)) / (b - a);
}

/** Distance flown over ground from the hand, so that a path that turns never comes back in the picture. */
export function along(path: { ahead_m: readonly number[]; right_m: readonly number[] }): number[] {
  let sum = 0;
  return path.ahead_m.map((x, i) => {
    if (i > 0) sum += Math.hypot(x - (path.ahead_m[i - 1] ?? 0), (path.right_m[i] ?? 0) - (path.right_m[i - 1] ?? 0));
    return sum;
  });
}

export interface Ribbons {
  distance: number[];
  /** One row a level of `LEVELS`. */
  heights: number[][];
  /** Half of the launches end before this distance. */
  shown: number;
}

/** Percentiles of height over distance; one that came down stays down, one that was handed over stays up. */
export function ribbons(paths: readonly FanPath[]): Ribbons | null {
  if (!paths.length) return null;
  const tracks = paths.map((path) => ({ s: along(path), h: path.height_m, last: path.height_m.at(-1) ?? 0 }));
  const ends = tracks.map((track) => track.s.at(-1) ?? 0).sort((a, b) => a - b);
  const reach = Math.max(quantile(ends, 0.95), 26);
  const distance = Array.from({ length: KNOTS }, (_, k) => (reach * k) / (KNOTS - 1));
  const heights = LEVELS.map(() => new Array<number>(KNOTS));
  distance.forEach((place, k) => {
    const column = tracks
      .map((track) => at(track.s, track.h, place, track.last > ON_THE_GROUND_M ? track.last : 0))
      .sort((a, b) => a - b);
    LEVELS.forEach((level, row) => (heights[row]![k] = quantile(column, level)));
  });
  return { distance, heights, shown: quantile(ends, 0.5) };
}

const STATES = ["asleep", "listening", "waiting", "rising", "climbing", "handed over", "given up"];
const WAITING = 2;

interface Stretch {
  name: string;
  from: number;
  to: number;
}

/** The samples of one launch, in seconds from detection (from the first sample if nothing was detected). */
export interface Course {
  launch: number;
  outcome: string;
  time: number[];
  columns: Record<string, number[]>;
  states: Stretch[];
  detected: boolean;
  from: number;
  to: number;
}

export function courseOf(trace: Trace): Course {
  const columns = trace.columns;
  const clock = columns.t_s ?? [];
  const state = columns.state ?? [];
  const fired = state.findIndex((one) => one >= WAITING);
  const zero = clock[Math.max(0, fired)] ?? 0;
  const time = clock.map((t) => t - zero);
  const states: Stretch[] = [];
  state.forEach((one, i) => {
    const name = STATES[one] ?? "asleep";
    const now = time[i] ?? 0;
    const last = states.at(-1);
    if (last?.name === name) last.to = now;
    else {
      if (last) last.to = now;
      states.push({ name, from: now, to: now });
    }
  });
  const { launch, outcome } = trace;
  return { launch, outcome, time, columns, states, detected: fired >= 0, from: time[0] ?? 0, to: time.at(-1) ?? 0 };
}

/** A column of a launch at a time from detection. */
export const columnAt = (course: Course, name: string, time: number): number =>
  at(course.time, course.columns[name] ?? [], time);
