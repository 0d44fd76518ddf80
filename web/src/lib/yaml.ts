/** Reads a setup's text and changes single values in it, byte for byte: comments and layout stay. */
import { isMap, isScalar, isSeq, parseDocument, Scalar, type Document, type Node, type Pair, type YAMLMap, type YAMLSeq } from "yaml";

export type Tree = Record<string, unknown>;

interface Read {
  document: Document;
  tree: Tree;
  /** What the grammar of YAML refuses, with the place. */
  faults: { message: string; line: number; column: number }[];
}

/** Text that is YAML already and is written as it stands, such as `{throttle: 95 %, pull: 7 N}`. */
export class Raw {
  constructor(readonly text: string) {}
}

type Item = Pair<Node, Node | null>;

/** Parse a text; numbers stay as they are written. */
export function read(text: string): Read {
  const document = parseDocument(text, { schema: "failsafe", keepSourceTokens: true });
  const faults = document.errors.map((error) => ({
    message: error.message.split("\n")[0] ?? "",
    line: error.linePos?.[0].line ?? 0,
    column: error.linePos?.[0].col ?? 0,
  }));
  const tree: unknown = faults.length ? {} : document.toJS();
  return { document, tree: typeof tree === "object" && tree !== null ? (tree as Tree) : {}, faults };
}

/** The value under a path such as `power.bench.0.pull`; undefined if there is none. */
export function valueAt(tree: unknown, path: string): unknown {
  let here: unknown = tree;
  for (const key of path.split(".")) {
    if (Array.isArray(here)) here = here[Number(key)];
    else if (typeof here === "object" && here !== null) here = (here as Tree)[key];
    else return undefined;
  }
  return here;
}

const WORD = /^(true|false|null|yes|no|on|off|y|n|~)$/i;
/** Commas end a value inside braces only. */
const PLAIN = /^(?![-+.](?:[\s.]|$))[\p{L}\p{N}.+(-][^:#\p{C}"'{}[\]&*!|>%@`]*$/u;
const NUMBERS = /^[+-]?[\d.][\w .%/+-]*$/;

/** A value as YAML writes it on one line; `within` braces or brackets, or not. */
export function written(value: string, within = true): string {
  const plain = (PLAIN.test(value) && !(within && value.includes(","))) || NUMBERS.test(value);
  return plain && !WORD.test(value) && value === value.trim() ? value : JSON.stringify(value);
}

/** Words as YAML writes them: in quotes also where they look like a number. */
export const asWords = (value: string): Raw => new Raw(/^[+-]?[\d.]/.test(value) ? JSON.stringify(value) : written(value));

/** A flat card as it stands in a list. */
export const flow = (card: Record<string, string | Raw>): Raw =>
  new Raw(`{${Object.entries(card).map(([key, value]) => `${key}: ${leaf(value)}`).join(", ")}}`); // prettier-ignore

const leaf = (value: string | Raw, within = true): string => (value instanceof Raw ? value.text : written(value, within));

const pairOf = (map: YAMLMap, key: string): Item | undefined =>
  (map.items as Item[]).find((pair) => isScalar(pair.key) && String(pair.key.value) === key);

const lineStart = (text: string, at: number): number => text.lastIndexOf("\n", at - 1) + 1;
const newline = (text: string): string => (text.includes("\r\n") ? "\r\n" : "\n");
const column = (text: string, at: number): number => at - lineStart(text, at);

function lineEnd(text: string, at: number): number {
  const end = text.indexOf("\n", at);
  return end < 0 ? text.length : end + 1;
}

/** Where a node's own text ends, without the comment and the blank lines behind it. */
function endOf(node: Node | null): number {
  if (!node) return 0;
  const last: unknown = (isMap(node) || isSeq(node)) && !node.flow ? node.items.at(-1) : undefined;
  if (isMap(node) && last) return pairEnd(last as Item);
  if (isSeq(node) && last) return endOf(last as Node);
  const end = node.range?.[1] ?? 0;
  return isScalar(node) && (node.type === Scalar.BLOCK_LITERAL || node.type === Scalar.BLOCK_FOLDED) ? end - 1 : end;
}

const pairEnd = (pair: Item): number => Math.max(endOf(pair.value), pair.key.range?.[1] ?? 0);

interface Found {
  /** What holds each key of the path that was found, from the outside in. */
  holders: (YAMLMap | YAMLSeq)[];
  /** The node at the end of what was found. */
  node: Node | null;
  /** The keys that are not there. */
  missing: string[];
}

function found(document: Document, path: string): Found | null {
  const keys = path.split(".");
  const holders: (YAMLMap | YAMLSeq)[] = [];
  let node = document.contents as Node | null;
  for (const [depth, key] of keys.entries()) {
    if (!isMap(node) && !isSeq(node)) return { holders, node, missing: keys.slice(depth) };
    const next: Node | null | undefined = isMap(node) ? pairOf(node, key)?.value : (node.items[Number(key)] as Node | undefined);
    if (next === undefined) return isMap(node) ? { holders, node, missing: keys.slice(depth) } : null;
    holders.push(node);
    node = next;
  }
  return { holders, node, missing: [] };
}

/** Return the text with one value set, made if it is missing, or taken out if `value` is null. */
export function changed(text: string, path: string, value: string | Raw | null): string {
  const { document, faults } = read(text);
  if (faults.length || !isMap(document.contents)) return text;
  const place = found(document, path);
  if (!place) return text;
  const { node, missing, holders } = place;
  if (value === null) return missing.length ? text : removed(text, holders, path.split("."));
  const within = holders.some((one) => one.flow) || (isMap(node) && (node.flow ?? false));
  if (!missing.length) return replaced(text, node, leaf(value, within));
  if (isMap(node)) return inserted(text, node, missing, [leaf(value, within || !node.items.length)]);
  return replaced(text, node, inline(missing, leaf(value)));
}

/** Return the text with one more entry at the end of a list, which is made if it is missing. */
export function withItem(text: string, path: string, item: Raw): string {
  const { document, faults } = read(text);
  if (faults.length || !isMap(document.contents)) return text;
  const place = found(document, path);
  if (!place) return text;
  const { node, missing } = place;
  if (isMap(node) && missing.length) return inserted(text, node, missing, ["", item.text]);
  if (!isSeq(node) || !node.items.length) return replaced(text, node, inline(missing, `[${item.text}]`));
  const end = endOf(node.items.at(-1) as Node);
  if (node.flow) return `${text.slice(0, end)}, ${item.text}${text.slice(end)}`;
  return withLine(text, end, `${" ".repeat(column(text, node.range?.[0] ?? 0))}- ${item.text}`);
}

/** Return the text without one entry of a list; a list that is left empty goes too. */
export function withoutItem(text: string, path: string, index: number): string {
  const { document, faults } = read(text);
  const place = faults.length ? null : found(document, path);
  if (!place || place.missing.length || !isSeq(place.node)) return text;
  const list = place.node;
  const item = list.items[index] as Node | undefined;
  if (!item) return text;
  if (list.items.length === 1) return removed(text, place.holders, path.split("."));
  if (list.flow) return cutFlow(text, item.range?.[0] ?? 0, endOf(item));
  const token = list.srcToken?.type === "block-seq" ? list.srcToken.items[index] : undefined;
  const dash = token?.start.find((one) => one.type === "seq-item-ind")?.offset ?? item.range?.[0] ?? 0;
  return text.slice(0, lineStart(text, dash)) + text.slice(lineEnd(text, Math.max(dash, endOf(item) - 1)));
}

const inline = (keys: string[], value: string): string => keys.reduceRight((inner, key) => `{${key}: ${inner}}`, value);

function replaced(text: string, node: Node | null, value: string): string {
  if (!node?.range) return text;
  let start = node.range[0];
  const end = Math.max(start, endOf(node));
  // A value that is not there yet stands behind its colon, before a comment.
  if (end === start) start = text.slice(0, start).replace(/[^\S\n]+$/, "").length;
  const gap = /[\s[{(,]$/.test(text.slice(0, start)) ? "" : " ";
  return text.slice(0, start) + gap + value + text.slice(end === node.range[0] ? start : end);
}

/** Take out the innermost key, and what holds it if nothing else is in there. */
function removed(text: string, holders: (YAMLMap | YAMLSeq)[], keys: string[]): string {
  let depth = holders.length - 1;
  while (depth > 0 && holders[depth]?.items.length === 1 && isMap(holders[depth - 1])) depth--;
  const map = holders[depth];
  const pair = isMap(map) ? pairOf(map, keys[depth] ?? "") : undefined;
  if (!isMap(map) || !pair) return text;
  const start = pair.key.range?.[0] ?? 0;
  const end = pairEnd(pair);
  if (map.flow) return cutFlow(text, start, end);
  const behind = lineEnd(text, Math.max(start, end - 1));
  const before = text.slice(lineStart(text, start), start);
  // The first key of an entry stands behind the dash of its list: the next key takes its place.
  if (before.trim()) return text.slice(0, start) + text.slice(behind).trimStart();
  return text.slice(0, lineStart(text, start)) + text.slice(behind);
}

function cutFlow(text: string, start: number, end: number): string {
  const behind = /^\s*,[^\S\n]*/.exec(text.slice(end));
  if (behind) {
    const rest = text.slice(end + behind[0].length);
    return text.slice(0, start) + (rest.startsWith("#") ? " " : "") + rest;
  }
  return text.slice(0, start).replace(/,\s*$/, "") + text.slice(end);
}

/** Put keys into a card: on lines of their own, or behind the last entry of one in braces. */
function inserted(text: string, map: YAMLMap, keys: string[], lines: string[]): string {
  const last = (map.items as Item[]).at(-1);
  const [value = "", ...items] = lines;
  if (map.flow || !last) {
    const entry = inline(keys, items.length ? `[${items.join(", ")}]` : value).slice(1, -1);
    const at = last ? pairEnd(last) : (map.range?.[0] ?? 0) + 1;
    return text.slice(0, at) + (last ? ", " : "") + entry + text.slice(at);
  }
  const first = (map.items as Item[])[0]?.key.range?.[0] ?? 0;
  const indent = column(text, first);
  const rows = keys.map((key, depth) => `${" ".repeat(indent + 2 * depth)}${key}:`);
  if (items.length) rows.push(...items.map((item) => `${" ".repeat(indent + 2 * keys.length)}- ${item}`));
  else rows.push(`${rows.pop()} ${value}`);
  return withLine(text, pairEnd(last), rows.join(newline(text)));
}

/** Put a line behind the line on which something ends. */
function withLine(text: string, end: number, line: string): string {
  const at = lineEnd(text, Math.max(0, end - 1));
  const before = text.slice(0, at);
  const eol = newline(text);
  return `${before}${before.endsWith("\n") ? "" : eol}${line}${eol}${text.slice(at)}`;
}

/** The name that a setup gives itself. */
export function nameIn(text: string): string {
  const name = valueAt(read(text).tree, "name");
  return typeof name === "string" && name.trim() ? name : "without a name";
}
