/** The recordings of the trigger room: uploaded, labelled, and kept in the browser over a reload. */
import { problem } from "../../lib/api/client";
import { Sending } from "../../lib/state/sending.svelte";
import { store } from "../../lib/state/store.svelte";
import { uploads, type Holder } from "../../lib/state/uploads.svelte";

export const LABELS = ["carry", "shake", "throw", "other"] as const;
type Label = (typeof LABELS)[number] | "";

export interface Kept {
  upload: string;
  name: string;
  label: Label;
}

const KEY = "overarm.trigger";
/** As many as src/overarm/app/api/trigger.py takes at once. */
const MOST = 40;

/** What a file name says it shows, "" if it says nothing or several things. */
function labelIn(name: string): Label {
  const words = name.toLowerCase().split(/[^a-z]+/);
  const hits = LABELS.filter((label) => words.some((word) => [label, `${label}s`].includes(word)));
  return hits.length === 1 && hits[0] ? hits[0] : "";
}

class Recordings implements Holder {
  readonly room = "trigger";
  list = $state<Kept[]>([]);
  /** A mapping of columns that all of them need, "" if none does. */
  mapping = $state("");
  readonly sending = new Sending("trigger");

  constructor() {
    Object.assign(this, store.read<{ list: Kept[]; mapping: string }>(KEY));
  }

  get held(): readonly Kept[] {
    return this.list;
  }

  letGo(upload: string): void {
    this.#stay(this.list.filter((one) => one.upload !== upload));
  }

  async add(files: File[]): Promise<void> {
    const room = MOST - this.list.length;
    await this.sending.give(files.slice(0, room), (said) => this.choose(said));
    if (files.length <= room) return;
    const many = problem(`Not more than ${MOST} recordings are tried at once: ${files.length - room} of these were not taken`, "Leave some out, then choose the others again");
    this.sending.problems = [...this.sending.problems, many];
  }

  /** Take one that the workbench keeps; it shows what is said, or what its name says. */
  choose({ id, name }: { id: string; name: string }, label: Label = labelIn(name)): void {
    uploads.lost.trigger = [];
    if (this.list.length >= MOST || this.list.some((one) => one.upload === id)) return;
    this.list.push({ upload: id, name, label });
    this.keep();
  }

  /** Take those that a job was asked about in place of what is here. */
  show(list: Kept[], mapping: string): void {
    [this.list, this.mapping, this.sending.problems] = [list, mapping, []];
    this.keep();
  }

  remove(at: number): void {
    this.#stay(this.list.toSpliced(at, 1));
  }

  /** A mapping is of what was there: with the last recording it goes too. */
  #stay(list: Kept[]): void {
    this.list = list;
    if (!list.length) this.mapping = "";
    this.keep();
  }

  keep(): void {
    store.write(KEY, { list: this.list, mapping: this.mapping });
  }
}

export const recordings = new Recordings();
