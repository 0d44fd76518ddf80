/** Which launches failed: those of the fan, of the scene behind it, and of the odds where they are of the same. */
import type { Shapes } from "../../lib/api/types";
import type { FanSide } from "../../lib/launch";
import type { Failed } from "./live.svelte";

type Odds = Pick<Shapes["OddsAnswer"], "launches" | "seed" | "failed_launches">;

/** The one of more launches; odds of another seed, or without the moved sliders, are not of what is drawn. */
export function mostFlown(scene: Failed | null, odds: Odds | null, seed: number, moved: boolean): Failed | null {
  if (!odds || moved || odds.seed !== seed || (scene && scene.launches >= odds.launches)) return scene;
  return { launches: odds.launches, ...odds.failed_launches };
}

/** Their numbers in order. */
export function failedOf(side: FanSide, more: Failed | null): number[] {
  const drawn = side.paths.filter((path) => path.outcome !== "clean").map((path) => path.launch);
  return [...new Set([...drawn, ...(more?.first ?? [])])].sort((a, b) => a - b);
}
