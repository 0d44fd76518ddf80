/** Reads a setup's text and changes single values in it, byte for byte: comments and layout stay. */
import { isMap, isScalar, isSeq, parseDocument, type Document, type Node, type Pair, type YAMLMap } from "yaml";

export type Tree = Record<string, unknown>;

export interface Read {
  document: Document;
  tree: Tree;
  /** What the grammar of YAML refuses, with the place. */
  faults: { message: string; line: number; column: number }[];
}

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

/** A value as YAML writes it on one line. */
export function written(value: string): string {
  const plain = /^[\p{L}\p{N}.+(-][^:#\n"'{}[\],&*!|>%@`]*$/u.test(value) || /^[\d.+-][\w .%/+-]*$/.test(value);
  const word = /^(true|false|null|yes|no|on|off|~)$/i.test(value);
  return plain && !word && value === value.trim() ? value : JSON.stringify(value);
}

const pairOf = (map: YAMLMap, key: string): Pair<Node, Node | null> | undefined =>
  (map.items as Pair<Node, Node | null>[]).find((pair) => isScalar(pair.key) && String(pair.key.value) === key);

const lineStart = (text: string, at: number): number => text.lastIndexOf("\n", at - 1) + 1;

function lineEnd(text: string, at: number): number {
  const end = text.indexOf("\n", at);
  return end < 0 ? text.length : end + 1;
}

/** Where a node's own text ends, without the comment and the blank lines behind it. */
const valueEnd = (node: Node): number => node.range?.[1] ?? 0;

/** Return the text with one value set, made if it is missing, or taken out if `value` is null. */
export function changed(text: string, path: string, value: string | null): string {
  const { document, faults } = read(text);
  if (faults.length || !isMap(document.contents)) return text;
  const keys = path.split(".");
  let here: Node = document.contents;
  for (const [depth, key] of keys.entries()) {
    const last = depth === keys.length - 1;
    if (isSeq(here)) {
      const inside: unknown = here.items[Number(key)];
      if (last && isScalar(inside) && value !== null) return replaced(text, inside, value);
      if (!isMap(inside) && !isSeq(inside)) return text;
      here = inside;
      continue;
    }
    if (!isMap(here)) return text;
    const pair = pairOf(here, key);
    if (!pair) return value === null ? text : inserted(text, here, keys.slice(depth), value);
    if (last) {
      if (value === null) return removed(text, here, pair);
      return pair.value?.range ? replaced(text, pair.value, value) : text;
    }
    if (!isMap(pair.value) && !isSeq(pair.value)) {
      return value === null || !pair.value?.range ? text : replaced(text, pair.value, nested(keys.slice(depth + 1), value));
    }
    here = pair.value;
  }
  return text;
}

const nested = (keys: string[], value: string): string =>
  keys.reduceRight((inner, key) => `{${key}: ${inner}}`, written(value));

function replaced(text: string, node: Node, value: string): string {
  const [start] = node.range ?? [0];
  const raw = value.startsWith("{") || value.startsWith("[") ? value : written(value);
  return text.slice(0, start) + raw + text.slice(valueEnd(node));
}

function removed(text: string, map: YAMLMap, pair: Pair<Node, Node | null>): string {
  const start = pair.key.range?.[0] ?? 0;
  const end = pair.value ? valueEnd(pair.value) : (pair.key.range?.[1] ?? start);
  if (!map.flow) return text.slice(0, lineStart(text, start)) + text.slice(lineEnd(text, Math.max(start, end - 1)));
  const behind = /^\s*,\s*/.exec(text.slice(end));
  if (behind) return text.slice(0, start) + text.slice(end + behind[0].length);
  return text.slice(0, start).replace(/,\s*$/, "") + text.slice(end);
}

function inserted(text: string, map: YAMLMap, keys: string[], value: string): string {
  const [key = "", ...inner] = keys;
  const entry = `${key}: ${inner.length ? nested(inner, value) : written(value)}`;
  const last = (map.items as Pair<Node, Node | null>[]).at(-1);
  if (map.flow) {
    const close = valueEnd(map) - 1;
    return text.slice(0, close).trimEnd() + (last ? ", " : "") + entry + text.slice(close);
  }
  if (!last) return text;
  const keyAt = last.key.range?.[0] ?? 0;
  const indent = " ".repeat(keyAt - lineStart(text, keyAt));
  const end = last.value ? valueEnd(last.value) : (last.key.range?.[1] ?? keyAt);
  const at = lineEnd(text, Math.max(keyAt, end - 1));
  const before = text.slice(0, at);
  return `${before}${before.endsWith("\n") ? "" : "\n"}${indent}${entry}\n${text.slice(at)}`;
}
