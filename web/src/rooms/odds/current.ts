/** Which answers this room shows: those of the setup as it stands now, and one that was opened from the list of jobs. */
import type { Task } from "../../lib/state/task.svelte";

export const answerOf = <T>(task: Task<T>): T | null => (task.opened || task.isOfThis ? task.answer : null);
