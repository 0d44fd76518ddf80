/** Opens a job in its room: that room shows its answer, with the recordings that it was asked about. */
import { ask, Refusal } from "../../lib/api/client";
import type { Job, SetupText, Shapes } from "../../lib/api/types";
import { place } from "../../lib/state/place.svelte";
import { setup } from "../../lib/state/setup.svelte";
import { keepTask } from "../../lib/state/task.svelte";
import { nameIn } from "../../lib/yaml";
import { given } from "../review/recording.svelte";
import { recordings, type Kept } from "../trigger/recordings.svelte";
import { keptAs, roomOf } from "./tasks";

interface Asked {
  setup?: SetupText | null;
  recording?: string;
  recordings?: { upload: string; label?: Kept["label"] }[];
  mapping?: string;
  blades?: number;
}

/** What was asked; null for a job of an older version, which did not keep it. Throws `Refusal`. */
async function askedOf(job: Job): Promise<Asked | null> {
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
    const names = new Map((await ask<Shapes["UploadSaid"][]>("/api/uploads")).map((one) => [one.id, one.name]));
    const kind = job.task === "review.sound" ? "wav" : "csv";
    const called = (id: string): string => names.get(id) ?? `a removed recording.${kind}`;
    if (asked.recording) given.show({ upload: asked.recording, name: called(asked.recording), mapping: asked.mapping ?? "", blades: asked.blades ?? given.blades });
    if (asked.recordings) recordings.show(asked.recordings.map(({ upload, label }) => ({ upload, name: called(upload), label: label ?? "" })), asked.mapping ?? "");
  }
  place.go(room);
}
