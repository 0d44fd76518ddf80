/** Files that are opened together: which is the setup, and what lies beside it. */
import { LONGEST_TEXT, problem, Refusal } from "../lib/api/client";
import { uploads } from "../lib/state/uploads.svelte";
import { counted } from "../lib/units";
import { read, valueAt } from "../lib/yaml";

interface Opened {
  name: string;
  text: string;
  beside: Record<string, string>;
}

/** Read the setup among some files and give the others to the server. Throws `Refusal`. */
export async function opened(files: readonly File[]): Promise<Opened> {
  const yaml = files.filter((file) => /\.ya?ml$/i.test(file.name));
  const texts = yaml.filter((file) => file.size <= LONGEST_TEXT);
  const found = await Promise.all(texts.map(async (file) => ({ file, text: await file.text() })));
  const whole = found.find((one) => valueAt(read(one.text).tree, "overarm") !== undefined) ?? (found.length === 1 ? found[0] : undefined);
  if (!whole?.text.trim()) {
    const names = files.map((file) => file.name).join(", ");
    const long = yaml.find((file) => file.size > LONGEST_TEXT);
    const message = long
      ? `${long.name} has ${counted(long.size)} bytes; a setup has at most ${counted(LONGEST_TEXT)}`
      : `${names}: ${files.length === 1 ? "this is no setup" : "none of these is a setup"}`;
    throw new Refusal(422, [problem(message, "Choose the YAML file that begins with `overarm: 1`")]);
  }
  const beside: Record<string, string> = {};
  for (const file of files) if (file !== whole.file) beside[file.name] = (await uploads.send(file, file.name)).id;
  const name = valueAt(read(whole.text).tree, "name");
  return { name: typeof name === "string" && name.trim() ? name : whole.file.name, text: whole.text, beside };
}

/** The sentence at the head of an example. */
export function sentenceOf(text: string): string {
  const head: string[] = [];
  for (const line of text.split("\n")) {
    if (!line.startsWith("#")) break;
    head.push(line.slice(1).trim());
  }
  return head.join(" ").split(" An invented example.")[0] ?? "";
}
