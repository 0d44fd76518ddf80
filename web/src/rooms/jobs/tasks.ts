/** What each task of the server is, in words, in which room its answer is read, and by which name that room keeps it. */
import type { RoomName } from "../../lib/state/place.svelte";

const TASKS: Record<string, readonly [words: string, room: RoomName, kept: string]> = {
  "odds.odds": ["Odds of a launch", "odds", "odds"],
  "odds.what_if": ["What a change would do", "compare", "compare-both"],
  "odds.measure": ["What to measure next", "odds", "measure"],
  "carpet.carpet": ["Odds carpet", "odds", "carpet"],
  "settings.settings": ["Search of the settings", "settings", "settings"],
  "settings.traps": ["Look for traps", "settings", "traps"],
  "trigger.trigger": ["Recordings through the trigger", "trigger", "trigger"],
  "plan.plan": ["Plan of the way out and home", "plan", "plan"],
  "field.sheet": ["Launch sheet", "field", "field.sheet"],
  "field.pack": ["Field pack", "field", "field.pack"],
  "field.readback": ["Read-back", "field", "field.readback"],
  "review.review": ["Review of a recording", "review", "review"],
  "review.sound": ["Sound of a standing run", "review", "sound"],
  "learn.learn": ["What launches and bench tests teach", "learn", "learn"],
  "logbook.carry_in": ["An archive into the logbook", "logbook", "logbook"],
  "logbook.carry_out": ["The logbook into an archive", "logbook", "logbook"],
};

export const wordsOf = (task: string): string => TASKS[task]?.[0] ?? task.replace(/^.*\./, "").replaceAll("_", " ");
export const roomOf = (task: string): RoomName | null => TASKS[task]?.[1] ?? null;
/** The name of the room's task; "" where the room asks anew. */
export const keptAs = (task: string): string => TASKS[task]?.[2] ?? "";

/** Bytes as they are read. */
export function sized(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 1e6 ? `${(bytes / 1e3).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
