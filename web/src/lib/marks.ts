/** Ticks of axes in the user's units. */
import { ticks } from "./scale";
import type { System } from "./state/taste.svelte";
import { figure, fromSi, toSi, unitFor } from "./units";

export interface Mark {
  /** Where it stands. */
  si: number;
  /** What is written there: a round number of the user's unit. */
  text: string;
}

/** About as many marks as wanted between two SI values of a quantity that is usually given in `unit`. */
export function marks(low: number, high: number, unit: string, system: System, wanted = 5): Mark[] {
  const mine = unitFor(unit, system);
  return ticks(fromSi(low, mine), fromSi(high, mine), wanted).map((at) => ({ si: toSi(at, mine), text: figure(at, 6) }));
}
