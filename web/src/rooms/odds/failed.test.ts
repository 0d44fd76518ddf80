import { describe, expect, it } from "vitest";
import type { FanSide } from "../../lib/launch";
import { failedOf, mostFlown } from "./failed";

const path = (launch: number, outcome: string) => ({ launch, outcome, handed_over: false, ahead_m: [], right_m: [], height_m: [] });
const side: FanSide = { clean: { share: 1, low: 1, high: 1, level: 0.95 }, paths: [path(0, "clean"), path(7, "stalled")] };
const scene = { launches: 500, count: 2, first: [7, 312] };
const odds = { launches: 10_000, seed: 1, failed_launches: { count: 3, first: [7, 312, 9041] } };

describe("launches that failed", () => {
  it("are those of the fan and of all that were flown beside it, each once, in order", () => {
    expect(failedOf(side, null)).toEqual([7]);
    expect(failedOf(side, scene)).toEqual([7, 312]);
    expect(failedOf(side, mostFlown(scene, odds, 1, false))).toEqual([7, 312, 9041]);
  });

  it("are not those of odds of another seed, or without the moved sliders", () => {
    expect(mostFlown(scene, odds, 2, false)).toBe(scene);
    expect(mostFlown(scene, odds, 1, true)).toBe(scene);
    expect(mostFlown(null, null, 1, false)).toBeNull();
  });
});
