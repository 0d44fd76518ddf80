import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { uploads, type Upload } from "./uploads.svelte";

const said = (id: string): Upload => ({ id, name: `${id}.csv`, bytes: 1, sha256: "", made_utc: "2031-05-20T18:30:00.000Z", jobs: [], setups: [] });
/** What the server keeps, and lists that it has read but not sent yet. */
let there: Upload[] = [];
let waits: (() => void)[] = [];

beforeEach(() => {
  [there, waits, uploads.list] = [[said("old")], [], [said("old")]];
  vi.stubGlobal("fetch", async (path: string, { method }: RequestInit) => {
    if (method === "POST") there = [said("new"), ...there];
    if (method === "DELETE") there = there.filter((one) => !path.endsWith(one.id));
    if (method === "DELETE") return new Response(null, { status: 204 });
    if (method === "POST") return Response.json(said("new"));
    const list = there;
    await new Promise<void>((go) => waits.push(go));
    return Response.json(list);
  });
});
afterEach(() => vi.unstubAllGlobals());

/** Let the lists go that wait, and those that are asked for in their place. */
async function settled(looked: Promise<boolean>): Promise<void> {
  let done = false;
  void looked.then(() => (done = true));
  while (!done) {
    waits.shift()?.();
    await new Promise((go) => setTimeout(go));
  }
}

it("has a file that came while the list was on its way", async () => {
  const looked = uploads.look();
  await uploads.send(new Blob(["a"]), "new.csv");
  await settled(looked);
  expect(uploads.list?.map((one) => one.id)).toEqual(["new", "old"]);
});

it("has no file that was removed while the list was on its way, and no room has it", async () => {
  const held = [{ upload: "old", name: "old.csv" }];
  const holder = { room: "trigger" as const, held, letGo: (id: string) => void held.splice(0, held.length, ...held.filter((one) => one.upload !== id)) };
  const looked = uploads.look();
  await uploads.remove("old", [holder]);
  await settled(looked);
  expect(uploads.list).toEqual([]);
  expect(held).toEqual([]);
});
