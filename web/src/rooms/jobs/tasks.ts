/** What each task of the server is, in words, and in which room its answer is read. */
import type { RoomName } from "../../lib/state/place.svelte";

const TASKS: Record<string, readonly [words: string, room: RoomName]> = {
  "odds.odds": ["Odds of a launch", "odds"],
  "odds.what_if": ["What a change would do", "odds"],
  "odds.measure": ["What to measure next", "odds"],
  "carpet.carpet": ["Odds carpet", "odds"],
  "settings.settings": ["Search of the settings", "settings"],
  "settings.traps": ["Look for traps", "settings"],
  "trigger.trigger": ["Recordings through the trigger", "trigger"],
  "plan.plan": ["Plan of the way out and home", "plan"],
  "field.sheet": ["Launch sheet", "field"],
  "field.pack": ["Field pack", "field"],
  "field.readback": ["Read-back", "field"],
  "review.review": ["Review of a recording", "review"],
  "review.sound": ["Sound of a standing run", "review"],
  "learn.learn": ["What launches and bench tests teach", "learn"],
  "logbook.carry_in": ["An archive into the logbook", "logbook"],
  "logbook.carry_out": ["The logbook into an archive", "logbook"],
};

export const wordsOf = (task: string): string => TASKS[task]?.[0] ?? task.replace(/^.*\./, "").replaceAll("_", " ");
export const roomOf = (task: string): RoomName | null => TASKS[task]?.[1] ?? null;

/** Bytes as they are read. */
export function sized(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 1e6 ? `${(bytes / 1e3).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
