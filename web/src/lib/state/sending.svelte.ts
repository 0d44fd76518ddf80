/** Files on their way to the workbench: what did not arrive can be sent again, and is named after a reload too. */
import { Refusal } from "../api/client";
import type { Problem } from "../api/types";
import { store } from "./store.svelte";
import { uploads, type Upload } from "./uploads.svelte";

interface Sent {
  name: string;
  bytes: number;
  at: string;
}

const KEY = "overarm.sending.";
/** Refusals after which the same file will not be taken either: too large, or its name is none. */
const NEVER = [413, 422];

export class Sending {
  busy = $state(false);
  problems = $state.raw<Problem[]>([]);
  /** What did not arrive and is still in this page. */
  unsent = $state.raw<File[]>([]);
  readonly #key: string;
  #before = $state.raw<Sent[]>([]);
  /** What was on its way when the page before this one ended, and did not arrive; none before that is known. */
  readonly cut = $derived(this.#before.filter((one) => uploads.list?.every((kept) => kept.name !== one.name || kept.bytes !== one.bytes || kept.made_utc < one.at)));

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
    try {
      for (const file of files) {
        this.#keep(left);
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
      this.#keep(left);
    }
  }

  /** Say no more of what did not arrive. */
  forget(): void {
    [this.#before, this.unsent, this.problems] = [[], [], []];
    this.#keep([]);
  }

  #keep(files: readonly File[]): void {
    const at = new Date().toISOString();
    const sent = files.map(({ name, size }): Sent => ({ name, bytes: size, at }));
    if (sent.length) store.write(this.#key, sent);
    else store.drop(this.#key);
  }
}
