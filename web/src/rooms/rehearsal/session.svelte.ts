/** The recordings of this phone: sent at once, kept here until they are, listed over a reload. */
import { ask, Refusal } from "../../lib/api/client";
import type { Problem } from "../../lib/api/types";
import { saveText } from "../../lib/save";
import { store } from "../../lib/state/store.svelte";
import { forgetTask } from "../../lib/state/task.svelte";
import { uploads, type Holder } from "../../lib/state/uploads.svelte";
import { drop, find, keep } from "./unsent";

export const KINDS = ["carry", "shake", "throw"] as const;
export type Kind = (typeof KINDS)[number];

export interface Taken {
  key: string;
  name: string;
  label: Kind | "other";
  at: string;
  seconds: number;
  /** "" until the server has it. */
  upload: string;
  /** Whether it is in the logbook. */
  booked: boolean;
}

/** The name of the task of a recording. */
export const taskOf = (key: string): string => `rehearsal.${key}`;

const KEY = "overarm.rehearsal";
const AGAIN_MS = 3000;

class Session implements Holder {
  readonly room = "rehearsal";
  list = $state<Taken[]>([]);
  problems = $state.raw<Problem[]>([]);
  /** Whether the server could not be reached the last time. */
  away = $state(false);
  /** The recording that is still being taken: not sent before its end. */
  open = $state("");
  /** What is in this page alone: on its way into the browser's database, or refused by it. */
  #here = $state.raw<Record<string, string>>({});
  /** Whether the browser keeps nothing: a private window, or no room left. */
  #refuses = $state(false);
  #removed = new Set<string>();
  #timer = 0;
  #sending: Promise<void> = Promise.resolve();

  constructor() {
    this.list = store.read<Taken[]>(KEY) ?? [];
    addEventListener("beforeunload", (event) => {
      if (this.wouldBeLost) event.preventDefault();
    });
  }

  /** Whether something is in this page alone and would be gone with it. */
  get wouldBeLost(): boolean {
    return this.#refuses && this.list.some((one) => !one.upload && one.key in this.#here);
  }

  get held(): { upload: string; name: string }[] {
    return this.list.filter((one) => one.upload);
  }

  letGo(upload: string): void {
    const gone = this.list.find((one) => one.upload === upload);
    if (!gone) return;
    this.list = this.list.filter((one) => one !== gone);
    this.save();
    forgetTask(taskOf(gone.key));
  }

  save(): void {
    if (!store.write(KEY, this.list)) this.#refuses = true;
  }

  /** Put down what is recorded so far, so that a reload in the middle loses little; in this page alone if the
   * browser refuses to keep it. */
  async hold(taken: Taken, csv: string): Promise<void> {
    this.#here = { ...this.#here, [taken.key]: csv };
    const at = this.list.findIndex((one) => one.key === taken.key);
    if (at < 0) this.list.unshift(taken);
    else this.list[at] = taken;
    this.save();
    try {
      await keep(taken.key, csv);
    } catch {
      this.#refuses = true;
      return;
    }
    if (this.#here[taken.key] === csv) this.#letGo(taken.key);
    if (this.#removed.has(taken.key)) await this.#drop(taken.key);
  }

  /** Send what the server does not have yet; again later if it is away. Two at a time would send the same twice. */
  send(): Promise<void> {
    const ended = this.#sending.then(() => this.#send());
    this.#sending = ended.catch(() => {});
    return ended;
  }

  async #send(): Promise<void> {
    clearTimeout(this.#timer);
    for (const one of this.list.filter((item) => !item.upload && item.key !== this.open)) {
      const csv = await this.#csvOf(one);
      if (csv === null) continue;
      try {
        const said = await uploads.send(new Blob([csv], { type: "text/csv" }), one.name);
        one.upload = said.id;
        this.away = false;
        this.problems = [];
        this.save();
        this.#letGo(one.key);
        await this.#drop(one.key);
        if (this.#removed.has(one.key)) await this.#dropThere(said.id);
      } catch (error) {
        if (!(error instanceof Refusal)) throw error;
        this.away = error.away;
        this.problems = error.problems;
        if (error.passing) this.#timer = window.setTimeout(() => void this.send(), AGAIN_MS);
        return;
      }
    }
  }

  /** Hand a recording to the user as a file. */
  async saveFile(taken: Taken): Promise<void> {
    const csv = await this.#csvOf(taken);
    if (csv !== null) saveText(csv, taken.name, "text/csv");
  }

  /** Remove one that the server does not have. */
  async remove(key: string): Promise<void> {
    this.#removed.add(key);
    this.list = this.list.filter((item) => item.key !== key);
    this.save();
    this.#letGo(key);
    await this.#drop(key);
  }

  /** The table of a recording; null if the browser does not give it. One that is gone leaves the list. */
  async #csvOf(one: Taken): Promise<string | null> {
    const here = this.#here[one.key];
    if (here !== undefined) return here;
    try {
      const csv = await find(one.key);
      if (csv !== undefined) return csv;
    } catch {
      return null;
    }
    this.list = this.list.filter((item) => item.key !== one.key);
    this.save();
    return null;
  }

  #letGo(key: string): void {
    this.#here = Object.fromEntries(Object.entries(this.#here).filter(([name]) => name !== key));
  }

  /** Take it away from the server; what is not there need not go. */
  async #dropThere(id: string): Promise<void> {
    try {
      await ask(`/api/uploads/${id}`, undefined, { method: "DELETE" });
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  }

  /** Take it out of the browser's database; one that refuses holds nothing. */
  async #drop(key: string): Promise<void> {
    await drop(key).catch(() => {});
  }
}

export const session = new Session();
