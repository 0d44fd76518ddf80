/** The recordings of the trigger room: uploaded, labelled, and kept in the browser over a reload. */
import { ask, Refusal, upload } from "../../lib/api/client";
import type { Problem, Shapes } from "../../lib/api/types";
import { store } from "../../lib/state/store.svelte";

export const LABELS = ["carry", "shake", "throw", "other"] as const;
type Label = (typeof LABELS)[number] | "";

export interface Kept {
  upload: string;
  name: string;
  label: Label;
}

const KEY = "overarm.trigger";
const MOST = 40;

/** What a file name says it shows, "" if it says nothing or several things. */
function labelIn(name: string): Label {
  const words = name.toLowerCase().split(/[^a-z]+/);
  const hits = LABELS.filter((label) => words.some((word) => [label, `${label}s`].includes(word)));
  return hits.length === 1 && hits[0] ? hits[0] : "";
}

class Recordings {
  list = $state<Kept[]>([]);
  /** A mapping of columns that all of them need, "" if none does. */
  mapping = $state("");
  busy = $state(false);
  problems = $state.raw<Problem[]>([]);

  constructor() {
    Object.assign(this, store.read<{ list: Kept[]; mapping: string }>(KEY));
  }

  /** Leave out what the server does not have any more. */
  async look(): Promise<void> {
    if (!this.list.length) return;
    try {
      const there = new Set((await ask<Shapes["UploadSaid"][]>("/api/uploads")).map((one) => one.id));
      this.list = this.list.filter((one) => there.has(one.upload));
      this.keep();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  }

  async add(files: File[]): Promise<void> {
    this.problems = [];
    this.busy = true;
    try {
      for (const file of files.slice(0, MOST - this.list.length)) {
        const said = await upload(file, file.name);
        if (!this.list.some((one) => one.upload === said.id))
          this.list.push({ upload: said.id, name: said.name, label: labelIn(said.name) });
        this.keep();
      }
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
    } finally {
      this.busy = false;
    }
  }

  /** Take those that a job was asked about in place of what is here. */
  show(list: Kept[], mapping: string): void {
    [this.list, this.mapping, this.problems] = [list, mapping, []];
    this.keep();
  }

  remove(at: number): void {
    this.list.splice(at, 1);
    if (!this.list.length) this.mapping = "";
    this.keep();
  }

  keep(): void {
    store.write(KEY, { list: this.list, mapping: this.mapping });
  }
}

export const recordings = new Recordings();
