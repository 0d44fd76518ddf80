/** The pair of a job that was opened from the list: both setups, and the changes that lie between them. */
import { amountIn, joined, parsed } from "../../lib/amount";
import type { Changes, SetupText } from "../../lib/api/types";
import { store } from "../../lib/state/store.svelte";
import { changed, nameIn, read, valueAt } from "../../lib/yaml";
import { nameOf } from "../describe/fields";

export interface AskedPair {
  left: SetupText;
  right: SetupText;
  /** What makes the left one the right one; null if each was flown for itself. */
  changes: Changes | null;
  seed: number;
}

export const COMPARE = "overarm.compare";
const PAIRS = "overarm.compare.pairs";
const MOST_PAIRS = 40;
const MOST_NAMED = 3;

/** Let the compare room show a pair the next time that it is made. */
export const showPair = (asked: AskedPair): boolean => store.write(COMPARE, { ...store.read<object>(COMPARE), kind: "asked", asked });

/** The text with changes as `--set` takes them; how a value is known stays where they do not say it. */
export function withChanges(text: string, changes: Changes): string {
  const { tree } = read(text);
  return Object.entries(changes).reduce((now, [path, words]) => {
    if (words === "none") return changed(now, path, null);
    const [there, typed] = [amountIn(valueAt(tree, path)), parsed(words)];
    return changed(now, path, typed ? joined({ ...typed, known: typed.known || there?.known || "" }) : words);
  }, text);
}

/** What both are called. */
export function namesOf(asked: AskedPair): [string, string] {
  const [left, right] = [nameIn(asked.left.text), nameIn(asked.right.text)];
  if (left !== right || !asked.changes) return [left, right];
  const all = Object.entries(asked.changes).map(([path, words]) => `${nameOf(path).toLowerCase()} ${words}`);
  const more = all.length > MOST_NAMED ? ` and ${all.length - MOST_NAMED} more` : "";
  return [left, `with ${all.slice(0, MOST_NAMED).join(", ")}${more}`];
}

const pairs = (): [string, string][] => store.read<[string, string][]>(PAIRS) ?? [];

/** Remember two jobs that were flown beside each other. */
export function pairUp(left: string, right: string): void {
  const others = pairs().filter((one) => one[0] !== left || one[1] !== right);
  store.write(PAIRS, [...others, [left, right]].slice(-MOST_PAIRS));
}

/** The pair of jobs that one of them belongs to, the last one; null if this browser knows of none. */
export const pairWith = (job: string): [string, string] | null =>
  pairs().findLast((one) => one.includes(job)) ?? null;

/** The ids of those of some jobs that have their pair among them too. */
export function pairedAmong(jobs: readonly { id: string }[]): Set<string> {
  const there = new Set(jobs.map((one) => one.id));
  return new Set(pairs().filter((pair) => pair.every((id) => there.has(id))).flat());
}
