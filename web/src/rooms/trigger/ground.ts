/** The level-dwell map: its grid as it was counted; nothing is read between its points. */
import type { Shapes } from "../../lib/api/types";
import type { Mark } from "../../lib/marks";
import type { System } from "../../lib/state/taste.svelte";
import { figure, toSi, unitFor } from "../../lib/units";

export type Answer = Shapes["TriggerAnswer"];
type Map_ = Answer["level_dwell"];
type Grid = readonly (readonly (number | null)[])[];

/** A cell of the map: which level and which dwell. */
export interface Cell {
  level: number;
  dwell: number;
}

export interface Bound {
  value: number;
  low: number;
  high: number;
}

/** The place in a list that is nearest to a value. */
export function nearest(list: readonly number[], value: number): number {
  let best = 0;
  for (let i = 1; i < list.length; i++)
    if (Math.abs((list[i] ?? 0) - value) < Math.abs((list[best] ?? 0) - value)) best = i;
  return best;
}

export const cellAt = (map: Map_, level: number, dwell: number): Cell => ({
  level: nearest(map.levels_mps2, level),
  dwell: nearest(map.dwells_s, dwell),
});

function at(grid: Grid | null, cell: Cell): number | null {
  return grid?.[cell.level]?.[cell.dwell] ?? null;
}

function bound(value: Grid | null, low: Grid | null, high: Grid | null, cell: Cell): Bound | null {
  const found = [at(value, cell), at(low, cell), at(high, cell)];
  const [a, b, c] = found;
  return a == null || b == null || c == null ? null : { value: a, low: b, high: c };
}

/** What happens in a cell, each with its exact interval; null where nothing was recorded that tells. */
export const facts = (map: Map_, cell: Cell): { false: Bound | null; missed: Bound | null; early: Bound | null } => ({
  false: bound(map.false_per_hour, map.false_low_per_hour, map.false_high_per_hour, cell),
  missed: bound(map.missed_per_hundred, map.missed_low_per_hundred, map.missed_high_per_hundred, cell),
  early: bound(map.early_per_hundred, map.early_low_per_hundred, map.early_high_per_hundred, cell),
});

type Kind = "good" | "false" | "missed" | "both" | "not known";

export function kindOf(map: Map_, cell: Cell): Kind {
  const found = facts(map, cell);
  const starts = found.false !== null && found.false.value > 0;
  const misses = (found.missed?.value ?? 0) > 0 || (found.early?.value ?? 0) > 0;
  if (starts && misses) return "both";
  if (starts) return "false";
  if (misses) return "missed";
  return found.false && found.missed ? "good" : "not known";
}

/** Runs of one kind in each column of dwell, from the lowest level up. */
export function runs(map: Map_): { dwell: number; from: number; to: number; kind: Kind }[] {
  const found: { dwell: number; from: number; to: number; kind: Kind }[] = [];
  for (let dwell = 0; dwell < map.dwells_s.length; dwell++)
    for (let level = 0; level < map.levels_mps2.length; level++) {
      const kind = kindOf(map, { level, dwell });
      const last = found.at(-1);
      if (last && last.dwell === dwell && last.kind === kind) last.to = level;
      else found.push({ dwell, from: level, to: level, kind });
    }
  return found;
}

/** For each dwell the highest level at which a rate is still reached; -1 where it is nowhere. */
export function highestWith(grid: Grid, least: number): number[] {
  const wide = grid[0]?.length ?? 0;
  return Array.from({ length: wide }, (_, dwell) => grid.findLastIndex((line) => (line[dwell] ?? 0) >= least));
}

/** For each dwell the lowest level at which a share is reached; the number of levels where it is nowhere. */
export function lowestWith(grid: Grid, least: number): number[] {
  const wide = grid[0]?.length ?? 0;
  return Array.from({ length: wide }, (_, dwell) => {
    const found = grid.findIndex((line) => (line[dwell] ?? 0) >= least);
    return found < 0 ? grid.length : found;
  });
}

/** Levels of the map and of the ladder stand on a root scale, so that steps and throws are both seen. */
export const rooted = (level: number): number => Math.sqrt(Math.max(0, level));

/** A rate an hour as it is read. */
export const hourly = (rate: number): string => (rate === 0 || rate >= 10 ? rate.toFixed(0) : rate.toPrecision(2));

/** Where the scale of ladder and map ends. */
export const topOf = (answer: Answer): number =>
  1.08 * Math.max(1.5 * answer.trigger.level_mps2, ...answer.ladder.map((rung) => rung.most_mps2));

const ROUND: Record<System, readonly number[]> = {
  metric: [0, 1, 2, 3, 5, 8, 12, 18, 25, 40, 60, 100],
  imperial: [0, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 1.8, 2.5, 4, 6, 10],
};

/** Marks of the root scale up to a level, round in the user's unit. */
export const levelMarks = (top: number, system: System): Mark[] =>
  ROUND[system].map((at) => ({ si: toSi(at, unitFor("m/s2", system)), text: figure(at) })).filter((one) => one.si <= top);

/** Rungs of the ladder as they are written below it, in two lines. */
export const NAMES: Record<string, readonly [string, string]> = {
  "board: tilt and bias": ["board:", "tilt, bias"],
  "nose-up carry": ["nose-up", "carry"],
  carried: ["walking,", "turning"],
  "running, other": ["running,", "other"],
  "wind-up": ["wind-up", ""],
  "your shake": ["your", "shake"],
  "your throw": ["your", "throw"],
};

export const PHONE_NAMES: typeof NAMES = {
  "board: tilt and bias": ["board", ""],
  "nose-up carry": ["nose", "up"],
  carried: ["carry", ""],
  "running, other": ["other", ""],
  "wind-up": ["wind", "up"],
  "your shake": ["shake", ""],
  "your throw": ["throw", ""],
};
