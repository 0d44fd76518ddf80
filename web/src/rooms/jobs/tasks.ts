/** In which room the answer of each task of the server is read, and by which name that room keeps it. */
import type { RoomName } from "../../lib/state/place.svelte";

const TASKS: Record<string, readonly [room: RoomName, kept: string]> = {
  "odds.odds": ["odds", "odds"],
  "odds.what_if": ["compare", "compare-both"],
  "odds.measure": ["odds", "measure"],
  "carpet.carpet": ["odds", "carpet"],
  "settings.settings": ["settings", "settings"],
  "settings.traps": ["settings", "traps"],
  "trigger.trigger": ["trigger", "trigger"],
  "plan.plan": ["plan", "plan"],
  "field.sheet": ["field", "field.sheet"],
  "field.pack": ["field", "field.pack"],
  "field.readback": ["field", "field.readback"],
  "review.review": ["review", "review"],
  "review.sound": ["review", "sound"],
  "learn.learn": ["learn", "learn"],
  "logbook.carry_in": ["logbook", "logbook"],
  "logbook.carry_out": ["logbook", "logbook"],
};

export const roomOf = (task: string): RoomName | null => TASKS[task]?.[0] ?? null;
/** The name of the room's task; "" where the room asks anew. */
export const keptAs = (task: string): string => TASKS[task]?.[1] ?? "";
