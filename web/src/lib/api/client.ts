/** Talks to the server of the workbench; every refusal becomes a `Refusal` with its problems. */
import type { Problem, Shapes } from "./types";

/** A request that the server refused, or that never reached it. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly problems: Problem[],
  ) {
    super(problems.map((one) => one.message).join("; "));
  }

  /** Whether the server could not be reached at all. */
  get away(): boolean {
    return this.status === 0;
  }

  /** Whether the same request may be answered in a moment: the server is away, busy, at fault, or was started anew. */
  get passing(): boolean {
    return this.away || [401, 408, 429].includes(this.status) || this.status >= 500;
  }
}

export const problem = (message: string, cure: string): Problem => ({
  message,
  cure,
  file: "",
  line: 0,
  column: 0,
  key: "",
  value: "",
});

/** The most characters that the text of a setup may have, as src/overarm/app/api/forms.py has it. */
export const LONGEST_TEXT = 200_000;

/** Given up by the page itself; one that took too long counts as not answered. */
const isAborted = (error: unknown): boolean => error instanceof DOMException && error.name === "AbortError";

/** What is said while the server cannot be reached. */
export const AWAY = problem("The workbench does not answer", "Start `overarm app` again; what you typed is kept here");
const STRANGER = problem("The workbench was started anew and does not know this page", "Open the address that `overarm app` prints in this browser; this page then goes on");

async function refusalOf(answer: Response): Promise<Refusal> {
  if (answer.status === 401) return new Refusal(401, [STRANGER]);
  try {
    const told = (await answer.json()) as { problems?: Problem[]; detail?: string };
    return new Refusal(answer.status, told.problems ?? [problem(told.detail ?? answer.statusText, "")]);
  } catch {
    return new Refusal(answer.status, [problem(answer.statusText || `answer ${answer.status}`, "Try again")]);
  }
}

async function sent(path: string, how: RequestInit): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(path, how);
  } catch (error) {
    if (isAborted(error)) throw error;
    throw new Refusal(0, [AWAY]);
  }
  if (!answer.ok) throw await refusalOf(answer);
  return answer;
}

/** The JSON of an answer; one that is cut off counts as none. */
async function read(answer: Response): Promise<unknown> {
  try {
    return await answer.json();
  } catch (error) {
    if (isAborted(error)) throw error;
    throw new Refusal(0, [AWAY]);
  }
}

/** Ask; a body makes it a POST unless another method is given. Throws `Refusal`. */
export async function ask<T>(path: string, body?: unknown, how: RequestInit = {}): Promise<T> {
  const whole: RequestInit = { method: body === undefined ? "GET" : "POST", ...how };
  if (body !== undefined) {
    whole.body = JSON.stringify(body);
    whole.headers = { "content-type": "application/json" };
  }
  const answer = await sent(path, whole);
  return (answer.status === 204 ? undefined : await read(answer)) as T;
}

/** Give a file to the server; the answer has the id under which it knows it. Throws `Refusal`. */
export async function upload(file: Blob, name: string): Promise<Shapes["UploadSaid"]> {
  try {
    const answer = await sent(`/api/uploads?name=${encodeURIComponent(name)}`, {
      method: "POST",
      body: file,
      headers: { "content-type": "application/octet-stream" },
    });
    return (await read(answer)) as Shapes["UploadSaid"];
  } catch (error) {
    if (!(error instanceof Refusal) || !error.away) throw error;
    const message = "did not arrive: the workbench ended or did not answer while it was on the way";
    throw new Refusal(0, [{ ...problem(message, "If the workbench has ended, start `overarm app` again; then send the file again"), file: name }]);
  }
}

/** Address of a file beside the answer of a job. */
export const fileOf = (job: string, name: string): string => `/api/jobs/${job}/files/${encodeURIComponent(name)}`;

/** The text or bytes of a file beside an answer. Throws `Refusal`. */
export async function bytesOf(job: string, name: string): Promise<Blob> {
  return (await sent(fileOf(job, name), {})).blob();
}
