/** Opens a job in its room: that room shows its answer, with the recordings that it was asked about. */
import { ask, problem, Refusal } from "../../lib/api/client";
import type { Changes, Job, SetupText } from "../../lib/api/types";
import { place } from "../../lib/state/place.svelte";
import { setup } from "../../lib/state/setup.svelte";
import { keepTask } from "../../lib/state/task.svelte";
import { nameIn } from "../../lib/yaml";
import { pairWith, showPair, withChanges } from "../compare/asked";
import { showForms } from "../learn/forms";
import { given } from "../review/recording.svelte";
import { recordings, type Kept } from "../trigger/recordings.svelte";
import { keptAs, roomOf } from "./tasks";

interface Asked {
  setup?: SetupText | null;
  recording?: string;
  recordings?: { upload: string; label?: Kept["label"] }[];
  mapping?: string;
  blades?: number;
  changes?: Changes;
  seed?: number;
  launches?: number;
  forms?: string[];
  reviews?: string[];
}

/** What was asked; null for a job of an older version, which did not keep it. Throws `Refusal`. */
async function askedOf(job: { id: string }): Promise<Asked | null> {
  try {
    return await ask<Asked>(`/api/jobs/${job.id}/asked`);
  } catch (error) {
    if (error instanceof Refusal && error.status === 404) return null;
    throw error;
  }
}

/** Throws `Refusal`. */
export async function openJob(job: Job): Promise<void> {
  const room = roomOf(job.task);
  if (!room) return;
  const asked = await askedOf(job);
  const text = asked?.setup;
  if (!setup.isOpen && text) await setup.make(nameIn(text.text), text.text, text.files ?? {});
  const name = keptAs(job.task);
  if (name) keepTask(name, { id: job.id, asked: asked ? JSON.stringify(asked) : "", of: setup.id, opened: true });
  if (asked?.recording || asked?.recordings) {
    const names = new Map(job.uploads?.map((one) => [one.id, one.name]));
    const called = (id: string): string => names.get(id) ?? (job.task === "review.sound" ? "a recording.wav" : "a recording.csv");
    if (asked.recording) given.show({ upload: asked.recording, name: called(asked.recording), mapping: asked.mapping ?? "", blades: asked.blades ?? given.blades });
    if (asked.recordings) recordings.show(asked.recordings.map(({ upload, label }) => ({ upload, name: called(upload), label: label ?? "" })), asked.mapping ?? "");
  }
  if (job.task === "odds.what_if" && text) {
    const [left, changes] = [{ text: text.text, files: text.files ?? {} }, asked.changes ?? {}];
    showPair({ left, right: { ...left, text: withChanges(text.text, changes) }, changes, seed: asked.seed ?? 1 });
  }
  if (job.task === "learn.learn" && asked) showForms(asked.forms ?? [], asked.reviews ?? [], (asked.launches ?? 0) > 0);
  place.go(room);
}

/** Open the two jobs side by side that were flown so, one of which is given. Throws `Refusal`. */
export async function openPair(job: Job): Promise<void> {
  const pair = pairWith(job.id);
  if (!pair) return;
  const [left, right] = [await askedOf({ id: pair[0] }), await askedOf({ id: pair[1] })];
  if (!left?.setup || !right?.setup) throw new Refusal(404, [problem("The job beside this one was removed", "Compare both again")]);
  if (!setup.isOpen) await setup.make(nameIn(left.setup.text), left.setup.text, left.setup.files ?? {});
  for (const [name, id, asked] of [["compare-left", pair[0], left], ["compare-right", pair[1], right]] as const)
    keepTask(name, { id, asked: JSON.stringify(asked), of: setup.id, opened: true });
  showPair({ left: left.setup, right: right.setup, changes: null, seed: left.seed ?? 1 });
  place.go("compare");
}
