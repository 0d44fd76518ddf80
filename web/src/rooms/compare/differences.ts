/** Where two setups differ: key by key, with both values, and whether that can be told as changes of the first. */
import { amountIn, joined } from "../../lib/amount";
import { siOf } from "../../lib/aeroplane";
import { valueAt, type Tree } from "../../lib/yaml";
import { nameOf, ruleAt, type Rule } from "../describe/fields";

export interface Difference {
  path: string;
  card: string;
  name: string;
  left: string;
  right: string;
  /** Whether the left or the right value is the default of a key that is left out. */
  leftOut: "left" | "right" | "";
}

/** Every value of a setup by its path; an amount in three keys is one value. */
function flat(schema: Rule, tree: unknown, above = ""): Map<string, string> {
  const found = new Map<string, string>();
  if (above && ruleAt(schema, above)?.["x-amount"]) {
    const amount = amountIn(tree);
    return found.set(above, amount ? joined(amount) : String(tree));
  }
  if (typeof tree !== "object" || tree === null) return tree === "" || tree === undefined ? found : found.set(above, String(tree));
  for (const [key, inside] of Object.entries(tree)) for (const [path, value] of flat(schema, inside, above ? `${above}.${key}` : key)) found.set(path, value);
  return found;
}

/** Whether two texts say the same of one key: the same number in SI, the same spread, known as well. */
function same(rule: Rule | undefined, left: string, right: string): boolean {
  if (left === right) return true;
  const [a, b] = [amountIn(left), amountIn(right)];
  if (!rule?.["x-amount"] || !a || !b) return false;
  const [x, y] = [siOf(left), siOf(right)];
  const vague = rule["x-amount"].measured !== "0 %" || rule["x-amount"].guessed !== "0 %";
  const alike = !vague || ((a.known || "guessed") === (b.known || "guessed") && a.spread === b.spread);
  return alike && x !== null && y !== null && Math.abs(x - y) <= 1e-9 * Math.max(Math.abs(x), Math.abs(y));
}

/** Cards whose absence is not the same as their defaults. */
const NOT_BY_DEFAULT = ["airframe.tail."];
const NEITHER = new Set(["overarm", "name"]);

/** The name of a key with the row that it is in. */
function called(path: string): string {
  const row = /\.(\d+)\./.exec(path);
  const [, card = "", inner = ""] = /^[^.]+\.(?:([a-z_]+)\.)?(?:\d+\.)?([a-z_]+)$/.exec(path) ?? [];
  if (row) return `${nameOf(card)} ${Number(row[1]) + 1}: ${nameOf(inner).toLowerCase()}`;
  return card && inner ? `${nameOf(card)}: ${nameOf(path).toLowerCase()}` : nameOf(path);
}

export function differences(schema: Rule, left: Tree, right: Tree): Difference[] {
  const [a, b] = [flat(schema, left), flat(schema, right)];
  const paths = [...new Set([...a.keys(), ...b.keys()])].filter((path) => !NEITHER.has(path));
  return paths.flatMap((path) => {
    const rule = ruleAt(schema, path);
    const home = (tree: Tree): string | undefined => {
      const none = NOT_BY_DEFAULT.some((card) => path.startsWith(card) && valueAt(tree, card.slice(0, -1)) === undefined);
      return none || rule?.default === undefined ? undefined : String(rule.default);
    };
    const [mine, theirs] = [a.get(path) ?? home(left), b.get(path) ?? home(right)];
    if (mine !== undefined && theirs !== undefined && same(rule, mine, theirs)) return [];
    const leftOut = a.has(path) ? (b.has(path) ? "" : "right") : "left";
    return [{ path, card: path.split(".")[0] ?? "", name: called(path), left: mine ?? "", right: theirs ?? "", leftOut }];
  });
}

const MOST_CHANGES = 40;

/**
 * The right setup as changes of the left one, as the server takes them; null if that cannot be said.
 * A value that says nothing of how it is known is a guess; the server would else keep what the left one says.
 */
export function asChanges(schema: Rule, left: Tree, right: Tree, found: readonly Difference[]): Record<string, string> | null {
  const changes: Record<string, string> = {};
  for (const { path } of found) {
    const card = path.split(".").slice(0, -1).join(".");
    if (card && (valueAt(left, card) === undefined) !== (valueAt(right, card) === undefined)) return null;
    const value = valueAt(right, path);
    const rule = ruleAt(schema, path);
    const amount = rule?.["x-amount"] ? amountIn(value) : null;
    if (rule?.["x-file"] || !/^[a-z0-9_.]+$/.test(path)) return null;
    if (value === undefined) changes[path] = "none";
    else changes[path] = amount ? joined({ ...amount, known: amount.known || "guessed" }) : String(value);
  }
  if (!found.length) return null;
  if (left.name !== right.name) changes.name = String(right.name);
  return Object.keys(changes).length <= MOST_CHANGES ? changes : null;
}
