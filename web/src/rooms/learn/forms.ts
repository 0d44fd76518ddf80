/** The forms of bench tests: their text stays YAML; the page edits single values and rows in it. */
import { isMap, isScalar, isSeq, type Node } from "yaml";
import { store } from "../../lib/state/store.svelte";
import { changed, read, valueAt } from "../../lib/yaml";

export const FORMS = [
  { name: "pull", title: "Spring scale", tells: "thrust, how it grows with the throttle, resistance of the pack" },
  { name: "clear", title: "Video of throws", tells: "how the hand slows down: the riskiest guess of all" },
  { name: "swing", title: "Swing on two lines", tells: "moment of inertia about the upright axis" },
  { name: "glide", title: "Glides", tells: "drag, and with recorded stalls the largest lift" },
  { name: "tilt", title: "Jig", tells: "tilt of the board, bias of its forward accelerometer" },
  { name: "history", title: "Launches on paper", tells: "how good the odds were" },
] as const;

export type FormName = (typeof FORMS)[number]["name"];

export interface Given {
  name: FormName;
  text: string;
}

/** What lies on the desk of the room. */
export interface Desk {
  forms: Given[];
  reviews: string[];
  fly: boolean;
}

export const LEARN = "overarm.learn";

/** Which test a form is of: its key `test`. */
const nameOf = (text: string): FormName => {
  const test = valueAt(read(text).tree, "test");
  return FORMS.find((one) => one.name === test)?.name ?? "pull";
};

/** Lay the forms and reviews of a job on the desk; what lay there is put aside. */
export function showForms(texts: string[], reviews: string[], fly: boolean): void {
  const { aside = null, ...there } = store.read<Desk & { aside: Desk | null }>(LEARN) ?? { forms: [], reviews: [], fly: false };
  const forms = texts.map((text) => ({ name: nameOf(text), text }));
  const mine = (there.forms ?? []).some((one) => !texts.includes(one.text)) || (there.reviews ?? []).some((id) => !reviews.includes(id));
  store.write(LEARN, { forms, reviews, fly, aside: mine ? there : aside });
}

interface Field {
  path: string;
  label: string;
  value: string;
}

interface Rows {
  path: string;
  label: string;
  heads: string[];
  rows: Field[][];
}

interface Sheet {
  /** What the form says before its first value: how the test is done. */
  how: string;
  fields: Field[];
  lists: Rows[];
  /** Whether the form has parts that only its text shows. */
  deeper: boolean;
}

const HIDDEN = ["overarm_bench", "test"];
const words = (key: string): string => key.replaceAll("_", " ");

function rowOf(item: Node, path: string): Field[] | null {
  if (!isMap(item)) return null;
  const fields: Field[] = [];
  for (const pair of item.items) {
    if (!isScalar(pair.key) || !isScalar(pair.value)) return null;
    const key = String(pair.key.value);
    fields.push({ path: `${path}.${key}`, label: words(key), value: String(pair.value.value) });
  }
  return fields;
}

/** Take a form apart into what the page shows. */
export function sheetOf(text: string): Sheet {
  const { document } = read(text);
  const sheet: Sheet = { how: "", fields: [], lists: [], deeper: false };
  sheet.how = [...text.matchAll(/^# ?(.*)$/gm)]
    .map((line) => line[1] ?? "")
    .filter((line) => !/^\s*(- \{|\w+:)/.test(line))
    .join(" ");
  if (!isMap(document.contents)) return sheet;
  for (const pair of document.contents.items) {
    const key = isScalar(pair.key) ? String(pair.key.value) : "";
    if (HIDDEN.includes(key)) continue;
    if (isScalar(pair.value)) sheet.fields.push({ path: key, label: words(key), value: String(pair.value.value) });
    else if (isSeq(pair.value)) {
      const rows = pair.value.items.map((item, i) => rowOf(item as Node, `${key}.${i}`));
      if (rows.some((row) => row === null)) sheet.deeper = true;
      const plain = rows.filter((row) => row !== null);
      const heads = [...new Set(plain.flatMap((row) => row.map((field) => field.label)))];
      if (plain.length && !sheet.deeper) sheet.lists.push({ path: key, label: words(key), heads, rows: plain });
    }
  }
  return sheet;
}

/** The text with one value set. */
export const withValue = (text: string, path: string, value: string): string => changed(text, path, value);

function itemsOf(text: string, path: string): Node[] {
  const { document } = read(text);
  const found: unknown = document.get(path, true);
  return isSeq(found) ? (found.items as Node[]) : [];
}

/** The text with a copy of the last row behind it. */
export function withRow(text: string, path: string): string {
  const last = itemsOf(text, path).at(-1);
  if (!last?.range) return text;
  const start = text.lastIndexOf("\n", last.range[0]) + 1;
  const [from, to] = [last.range[0], last.range[1]];
  const end = text.indexOf("\n", to);
  const at = end < 0 ? text.length : end + 1;
  return `${text.slice(0, at)}${end < 0 ? "\n" : ""}${text.slice(start, from)}${text.slice(from, to)}\n${text.slice(at)}`;
}

/** The text without one row; the last one stays. */
export function withoutRow(text: string, path: string, index: number): string {
  const items = itemsOf(text, path);
  const item = items[index];
  if (items.length < 2 || !item?.range) return text;
  const start = text.lastIndexOf("\n", item.range[0]) + 1;
  const end = text.indexOf("\n", item.range[1]);
  return text.slice(0, start) + text.slice(end < 0 ? text.length : end + 1);
}
