/** Whether an answer is of the setup as it stands now. */
import { setup } from "../../lib/state/setup.svelte";

export function isCurrent(task: { asked: string; answer: unknown }): boolean {
  if (!task.asked || task.answer === null) return false;
  return (JSON.parse(task.asked) as { setup: { text: string } }).setup.text === setup.text;
}
