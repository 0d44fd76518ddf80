/** A job of the server as a room shows it: started, followed over reloads and restarts, cancelled, answered. */
import { onDestroy } from "svelte";
import { ask, AWAY, problem, Refusal } from "../api/client";
import type { Job, Problem, SetupText } from "../api/types";
import { isSame } from "../same";
import { setup } from "./setup.svelte";
import { store } from "./store.svelte";

const ENDED = ["done", "failed", "cancelled", "ended with the server"];
const KEY = "overarm.task.";
const AGAIN_AFTER_MS = 3000;

interface Kept {
  id: string;
  asked: string;
  /** The id of the setup that was open. */
  of?: string | null;
  /** Whether it was opened from the list of jobs: its answer is shown whatever setup is open. */
  opened?: boolean;
}

/** Let a room's task find a job the next time that it is made. */
export function keepTask(name: string, kept: Kept): void {
  store.write(KEY + name, kept);
}

/** Keep nothing of a room's task. */
export const forgetTask = (name: string): void => store.drop(KEY + name);

/** One task of a room, remembered by its name so that a reload finds it again; made while the room is made. */
export class Task<T> {
  job = $state<Job | null>(null);
  problems = $state.raw<Problem[]>([]);
  /** What was asked, as JSON, so that a room can say that its answer is of an older setup. */
  asked = $state("");
  /** Whether it was refused because something that it needs is not there any more. */
  lacks = $state(false);
  #answer = $state.raw<T | null>(null);
  /** Whether it was opened from the list of jobs. */
  opened = $state(false);
  /** Which setup was open when it was asked; null before anything was. */
  #of = $state<string | null>(null);
  #stream: EventSource | null = null;
  #again = 0;
  #gone = false;
  /** The setup that was asked about; null for a question without one. */
  readonly setup = $derived(this.asked ? ((JSON.parse(this.asked) as { setup?: SetupText }).setup ?? null) : null);
  /** Counts what was asked: what is answered to an earlier question is not shown under a later one. */
  #turn = 0;

  constructor(readonly name: string) {
    onDestroy(() => {
      this.#gone = true;
      this.#leave();
    });
    const kept = store.read<Kept>(KEY + name);
    if (!kept) return;
    const { id, asked, of, opened = false } = kept;
    this.asked = asked;
    this.opened = opened;
    this.#of = of ?? (this.setup?.text === setup.text ? setup.id : "");
    void this.#find(id);
  }

  /** The answer; none while another setup is open than the one that it is of. */
  get answer(): T | null {
    return this.isOfAnother ? null : this.#answer;
  }

  /** Whether it is of another setup than the open one; what was opened from the list of jobs is shown all the same. */
  get isOfAnother(): boolean {
    return !this.opened && this.setup !== null && this.#of !== setup.id;
  }

  /** Whether the answer is of exactly the setup that is open. */
  get isOfThis(): boolean {
    return this.setup !== null && isSame(this.setup, setup.body);
  }

  get running(): boolean {
    return this.job !== null && !ENDED.includes(this.job.state);
  }

  /** Start a task; the same question is the same job, so asking twice costs nothing. */
  async start(path: string, body: unknown): Promise<void> {
    const turn = this.#next();
    this.problems = [];
    this.#answer = null;
    this.job = null;
    this.asked = JSON.stringify(body);
    this.#of = setup.id;
    this.opened = false;
    this.lacks = false;
    try {
      const job = await ask<Job>(path, body);
      if (turn !== this.#turn) return;
      keepTask(this.name, { id: job.id, asked: this.asked, of: this.#of });
      await this.#take(job, turn);
    } catch (error) {
      this.#refused(error, turn);
      if (turn === this.#turn) this.lacks = (error as Refusal).status === 404;
    }
  }

  async cancel(): Promise<void> {
    if (!this.job) return;
    const turn = this.#turn;
    try {
      await this.#take(await ask<Job>(`/api/jobs/${this.job.id}/cancel`, {}), turn);
    } catch (error) {
      this.#refused(error, turn);
    }
  }

  forget(): void {
    this.#next();
    forgetTask(this.name);
    this.job = null;
    this.#answer = null;
    this.problems = [];
    this.asked = "";
    this.#of = null;
    this.opened = false;
    this.lacks = false;
  }

  #next(): number {
    this.#leave();
    return ++this.#turn;
  }

  /** Look how far a job is; as long as the server is away or busy, look again. */
  async #find(id: string): Promise<void> {
    const turn = this.#turn;
    try {
      const job = await ask<Job>(`/api/jobs/${id}`);
      if (turn !== this.#turn) return;
      this.problems = [];
      await this.#take(job, turn);
    } catch (error) {
      if (turn === this.#turn && error instanceof Refusal && error.status === 404) return this.forget();
      this.#refused(error, turn);
      if (turn !== this.#turn) return;
      if ((error as Refusal).passing) this.#findSoon(id);
      else if (this.running) this.job = null;
    }
  }

  #findSoon(id: string): void {
    clearTimeout(this.#again);
    if (!this.#gone) this.#again = window.setTimeout(() => void this.#find(id), AGAIN_AFTER_MS);
  }

  async #take(job: Job, turn: number): Promise<void> {
    if (turn !== this.#turn) return;
    this.job = job;
    if (job.state === "done") {
      this.#leave();
      await this.#fetch(job.id, turn);
    } else if (ENDED.includes(job.state)) {
      this.#leave();
      this.problems = job.problems ?? [];
      if (job.state === "ended with the server")
        this.problems = [problem("The server ended before this was done", "Start it again")];
    } else if (!this.#stream && !this.#gone) this.#follow(job.id, turn);
  }

  /** Take the answer of a job that is done; as long as the server is away or busy, look again. */
  async #fetch(id: string, turn: number): Promise<void> {
    try {
      const answer = await ask<T>(`/api/jobs/${id}/answer`);
      if (turn === this.#turn) this.#answer = answer;
    } catch (error) {
      this.#refused(error, turn);
      if (turn === this.#turn && (error as Refusal).passing) this.#findSoon(id);
    }
  }

  #follow(id: string, turn: number): void {
    const stream = new EventSource(`/api/jobs/${id}/events`);
    this.#stream = stream;
    stream.addEventListener("job", (event) => {
      const job = JSON.parse((event as MessageEvent<string>).data) as Job;
      this.#take(job, turn).catch((error) => this.#refused(error, turn));
    });
    stream.addEventListener("open", () => {
      if (stream === this.#stream) this.problems = [];
    });
    // A line that only broke is taken up again by the browser; one that was refused is not.
    stream.addEventListener("error", () => {
      if (stream !== this.#stream) return;
      if (stream.readyState !== EventSource.CLOSED) {
        this.problems = [AWAY];
        return;
      }
      this.#leave();
      this.#findSoon(id);
    });
  }

  #leave(): void {
    clearTimeout(this.#again);
    this.#stream?.close();
    this.#stream = null;
  }

  #refused(error: unknown, turn: number): void {
    if (!(error instanceof Refusal)) throw error;
    if (turn === this.#turn) this.problems = error.problems;
  }
}
