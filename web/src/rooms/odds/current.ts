/** Whether an answer is of the setup as it stands now. */
import { setup } from "../../lib/state/setup.svelte";

export function isCurrent(task: { asked: string; answer: unknown }): boolean {
  if (!task.asked || task.answer === null) return false;
  const asked = (JSON.parse(task.asked) as { setup: unknown }).setup;
  return JSON.stringify(asked) === JSON.stringify(setup.body);
}
