/** In which unit a field is shown: the one chosen for it, else as it is written, or its imperial neighbour. */
import type { Amount } from "../../lib/amount";
import { taste } from "../../lib/state/taste.svelte";
import { unitFor } from "../../lib/units";
import type { AmountRule } from "./fields";

export function unitOf(path: string, rule: AmountRule, amount: Amount | null): string {
  const chosen = taste.units[path];
  if (chosen !== undefined && rule.units.includes(chosen)) return chosen;
  const written = amount?.unit || rule.unit;
  const mine = unitFor(written, taste.system);
  return rule.units.includes(mine) ? mine : written;
}
