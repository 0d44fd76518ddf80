/** What the trigger's answer on one recording says, in a few big words. */
import type { Shapes } from "../../lib/api/types";
import type { System } from "../../lib/state/taste.svelte";
import { figure, shown } from "../../lib/units";

export type Answer = Shapes["TriggerAnswer"];

interface Verdict {
  words: string;
  word: "good" | "watch" | "stop" | "not known";
  why: string;
}

const times = (count: number): string => (count === 1 ? "once" : `${count} times`);

export function verdictOf(answer: Answer): Verdict {
  const row = answer.recordings[0];
  const starts = answer.trigger.starts;
  if (!row || row.tells === "cannot tell") return { words: "Not known", word: "not known", why: "too few samples a second to tell" };
  if (row.label === "carry" || row.label === "other" || (starts !== "either" && starts !== row.label)) {
    const what = row.label === "other" ? "what is no gesture" : `a ${row.label}`;
    if (!row.starts) return told(row, "Not fired", `${what} does not start the motor`);
    return { words: "False start", word: "stop", why: `${what} fired ${times(row.starts)}; it should not` };
  }
  if (!row.gestures) return { words: "Not known", word: "not known", why: `no ${row.label} was found in it` };
  if (answer.early.seen) return { words: "Fired too early", word: "stop", why: `before the ${row.label} had begun` };
  if (answer.missed.seen) return { words: "Not fired", word: "stop", why: `${answer.missed.seen} of ${answer.missed.of} would not have started the motor` };
  return told(row, "Fired", row.gestures === 1 ? `the ${row.label} starts the motor` : `all ${row.gestures} start the motor`);
}

/** What went as it should; few samples a second can miss a short peak, so that is no good word then. */
function told(row: Answer["recordings"][number], words: string, why: string): Verdict {
  if (row.tells === "yes") return { words, word: "good", why };
  return { words, word: "watch", why: `${why}, as far as ${figure(row.rate_hz, 2)} samples a second can tell` };
}

/** The figures behind it: name and value. */
export function figuresOf(answer: Answer, system: System): [name: string, value: string][] {
  const row = answer.recordings[0];
  if (!row) return [];
  const { level_mps2: level, dwell_s: dwell } = answer.trigger;
  const off = row.peak_mps2 - level;
  const force = (mps2: number): string => shown(mps2, "m/s2", system);
  return [
    ["Peak of the cue", force(row.peak_mps2)],
    ["Level", `${force(level)}; the peak is ${force(Math.abs(off))} ${off < 0 ? "below" : "above"} it`],
    ["Longest above it", `${row.longest_above_s.toFixed(2)} s; the dwell asks for ${dwell.toFixed(2)} s`],
  ];
}
