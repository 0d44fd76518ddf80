/** Files on their way to the workbench: what did not arrive can be sent again, and is named after a reload too. */
import { Refusal } from "../api/client";
import type { Problem } from "../api/types";
import { store } from "./store.svelte";
import { uploads, type Upload } from "./uploads.svelte";

interface Sent {
  name: string;
  bytes: number;
  /** Uploads of the same name and size that were kept before: they are not this one. */
  twins: string[];
}

const KEY = "overarm.sending.";
/** Refusals after which the same file will not be taken either: too large, or its name is none. */
const NEVER = [413, 422];

/** The uploads, as far as they are known, of a name and size. */
const twinsOf = (name: string, bytes: number): string[] =>
  (uploads.list ?? []).filter((kept) => kept.name === name && kept.bytes === bytes).map((kept) => kept.id);

export class Sending {
  busy = $state(false);
  problems = $state.raw<Problem[]>([]);
  /** What did not arrive and is still in this page. */
  unsent = $state.raw<File[]>([]);
  readonly #key: string;
  #before = $state.raw<Sent[]>([]);
  /** What was on its way when the page before this one ended, and did not arrive; none before that is known. */
  readonly cut = $derived(this.#before.filter((one) => uploads.list && twinsOf(one.name, one.bytes).every((id) => one.twins.includes(id))));

  /** The name of the place in a room that takes files. */
  constructor(place: string) {
    this.#key = KEY + place;
    this.#before = store.read<Sent[]>(this.#key) ?? [];
  }

  /** Send files one after the other; whether all have arrived. */
  async give(files: readonly File[], took: (said: Upload) => void): Promise<boolean> {
    this.problems = [];
    this.#before = [];
    this.busy = true;
    let left = [...files];
    const sent = files.map(({ name, size }): Sent => ({ name, bytes: size, twins: twinsOf(name, size) }));
    const keep = (): void => this.#keep(sent.slice(files.length - left.length));
    try {
      for (const file of files) {
        keep();
        took(await uploads.send(file, file.name));
        left = left.slice(1);
      }
      return true;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.problems = error.problems;
      if (NEVER.includes(error.status)) left = left.slice(1);
      return false;
    } finally {
      this.busy = false;
      this.unsent = left;
      keep();
    }
  }

  /** Say no more of what did not arrive. */
  forget(): void {
    [this.#before, this.unsent, this.problems] = [[], [], []];
    this.#keep([]);
  }

  #keep(sent: readonly Sent[]): void {
    if (sent.length) store.write(this.#key, sent);
    else store.drop(this.#key);
  }
}
