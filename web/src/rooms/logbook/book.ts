/** What the book answers, and its rows as a person reads them. */
import type { Shapes } from "../../lib/api/types";
import { oddsWords } from "../../lib/odds";
import { sized } from "../../lib/sized";
import type { System } from "../../lib/state/taste.svelte";
import { counted, figure, shown } from "../../lib/units";
import { moment } from "../../lib/when";

type Every = Shapes["LogbookAnswer"];
export type Answer<C extends Every["command"]> = Extract<Every, { command: C }>;
export type Row = Record<string, unknown> & { id: string };
export type Kind = "launches" | "recordings" | "setups" | "predictions" | "evidence" | "notes" | "imports";
export type Trend = Answer<"trends">["days"][number];

export const KINDS: Kind[] = ["launches", "recordings", "setups", "predictions", "evidence", "notes", "imports"];

const text = (value: unknown): string => (typeof value === "string" || typeof value === "number" ? String(value) : "");
const number = (value: unknown): number | null => (typeof value === "number" ? value : null);

/** A time of the book as this machine's user writes it; "" stays "". */
export const when = (utc: unknown): string => (text(utc) ? moment(text(utc)) : "");

const some = (parts: (string | false | null)[]): string => parts.filter(Boolean).join(", ");

/** The line that a row of a kind begins with, and what is told behind it. */
export function told(kind: Kind, row: Row, system: System): { head: string; rest: string; at: string } {
  const speed = number(row.throw_speed_mps);
  const share = number(row.clean_share);
  switch (kind) {
    case "launches":
      return {
        head: text(row.outcome) || text(row.kind),
        rest: some([
          speed !== null && `thrown at ${shown(speed, "m/s", system)}`,
          text(row.thrower),
          text(row.setup_name),
          `no. ${text(row.number)} of ${text(row.recording_name) || text(row.recording).slice(0, 12)}`,
        ]),
        at: when(row.flown_utc) || `added ${when(row.added_utc)}`,
      };
    case "recordings":
      return { head: text(row.name), rest: some([text(row.form), sized(number(row.bytes) ?? 0)]), at: when(row.start_utc) };
    case "setups":
      return { head: text(row.name), rest: some([text(row.style), text(row.thrower)]), at: when(row.added_utc) };
    case "predictions":
      return {
        head: share === null ? "" : oddsWords({ share, low: number(row.clean_low) ?? 0, high: number(row.clean_high) ?? 1 }),
        rest: some([`${counted(number(row.launches) ?? 0)} launches`, `setup ${text(row.setup).slice(0, 12)}`, `version ${text(row.version)}`]),
        at: when(row.added_utc),
      };
    case "evidence":
      return {
        head: text(row.input).replace(".", ": ").replaceAll("_", " "),
        rest: `${figure(number(row.value) ?? NaN, 4)} ± ${figure(number(row.error) ?? NaN, 2)} (SI), ${text(row.method)}`,
        at: text(row.day),
      };
    case "notes":
      return { head: text(row.text), rest: row.about ? `about ${text(row.about).slice(0, 12)}` : "", at: when(row.written_utc) };
    case "imports": {
      const added = Object.entries((row.added ?? {}) as Record<string, unknown[]>).map(([name, ids]) => `${ids.length} ${name}`);
      return { head: `batch ${text(row.number)}: ${text(row.what)}`, rest: some([text(row.source), ...added]), at: when(row.made_utc) };
    }
  }
}

/** A value of a row in the detail of a thing. */
export function shownValue(value: unknown): string {
  if (value === null || value === undefined || value === "") return "–";
  if (typeof value === "number") return figure(value, 5);
  return typeof value === "string" ? value : JSON.stringify(value, null, 1);
}
