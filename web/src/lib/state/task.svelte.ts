/** A job of the server as a room shows it: started, followed over reloads and restarts, cancelled, answered. */
import { ask, problem, Refusal } from "../api/client";
import type { Job, Problem } from "../api/types";

const ENDED = ["done", "failed", "cancelled", "ended with the server"];
const KEY = "overarm.task.";

/** One task of a room, remembered by its name so that a reload finds it again. */
export class Task<T> {
  job = $state<Job | null>(null);
  answer = $state.raw<T | null>(null);
  problems = $state.raw<Problem[]>([]);
  /** What was asked, as JSON, so that a room can say that its answer is of an older setup. */
  asked = $state("");
  #stream: EventSource | null = null;

  constructor(readonly name: string) {
    const kept = localStorage.getItem(KEY + name);
    if (!kept) return;
    const { id, asked } = JSON.parse(kept) as { id: string; asked: string };
    this.asked = asked;
    void this.#find(id);
  }

  get running(): boolean {
    return this.job !== null && !ENDED.includes(this.job.state);
  }

  /** Start a task; the same question is the same job, so asking twice costs nothing. */
  async start(path: string, body: unknown): Promise<void> {
    this.#leave();
    this.problems = [];
    this.answer = null;
    this.asked = JSON.stringify(body);
    try {
      const job = await ask<Job>(path, body);
      localStorage.setItem(KEY + this.name, JSON.stringify({ id: job.id, asked: this.asked }));
      await this.#take(job);
    } catch (error) {
      this.#refused(error);
    }
  }

  async cancel(): Promise<void> {
    if (!this.job) return;
    try {
      await this.#take(await ask<Job>(`/api/jobs/${this.job.id}/cancel`, {}));
    } catch (error) {
      this.#refused(error);
    }
  }

  forget(): void {
    this.#leave();
    localStorage.removeItem(KEY + this.name);
    this.job = null;
    this.answer = null;
    this.problems = [];
    this.asked = "";
  }

  async #find(id: string): Promise<void> {
    try {
      await this.#take(await ask<Job>(`/api/jobs/${id}`));
    } catch (error) {
      if (error instanceof Refusal && error.status === 404) this.forget();
      else this.#refused(error);
    }
  }

  async #take(job: Job): Promise<void> {
    this.job = job;
    if (job.state === "done") {
      this.#leave();
      this.answer = await ask<T>(`/api/jobs/${job.id}/answer`);
    } else if (ENDED.includes(job.state)) {
      this.#leave();
      this.problems = job.problems ?? [];
      if (job.state === "ended with the server")
        this.problems = [problem("The server ended before this was done.", "Start it again")];
    } else if (!this.#stream) this.#follow(job.id);
  }

  #follow(id: string): void {
    this.#stream = new EventSource(`/api/jobs/${id}/events`);
    this.#stream.addEventListener("job", (event) => {
      this.#take(JSON.parse((event as MessageEvent<string>).data) as Job).catch((error) => this.#refused(error));
    });
  }

  #leave(): void {
    this.#stream?.close();
    this.#stream = null;
  }

  #refused(error: unknown): void {
    if (!(error instanceof Refusal)) throw error;
    this.problems = error.problems;
  }
}
