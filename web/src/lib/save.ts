/** Hands files to the user: text, SVG as it is on the screen, and the same as PNG. */

export function saveBlob(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name.replace(/[^\p{L}\p{N}._ -]+/gu, "-");
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

export const saveText = (text: string, name: string, type = "text/plain"): void =>
  saveBlob(new Blob([text], { type: `${type};charset=utf-8` }), name);

/** Rows as CSV (RFC 4180). */
export function saveTable(heads: string[], rows: (string | number | null)[][], name: string): void {
  const cell = (value: string | number | null): string => {
    const text = value === null ? "" : String(value);
    return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  saveText([heads, ...rows].map((row) => row.map(cell).join(",")).join("\r\n") + "\r\n", name, "text/csv");
}

const STYLES = [
  "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "stroke-linejoin", "opacity",
  "fill-opacity", "stroke-opacity", "font-family", "font-size", "font-weight", "text-anchor", "dominant-baseline",
  "vector-effect", "visibility", "display", "paint-order",
] as const; // prettier-ignore

/** A copy of an SVG that looks the same away from the page: its styles stand in it, on paper. */
function alone(svg: SVGSVGElement): { text: string; width: number; height: number } {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  const from = [svg, ...svg.querySelectorAll("*")];
  const to = [copy, ...copy.querySelectorAll("*")];
  for (const [i, element] of from.entries()) {
    const style = getComputedStyle(element);
    for (const name of STYLES) to[i]?.setAttribute(name, style.getPropertyValue(name));
    to[i]?.removeAttribute("class");
    to[i]?.removeAttribute("style");
  }
  const { width, height } = svg.getBoundingClientRect();
  const [x = 0, y = 0, wide = width, high = height] = (svg.getAttribute("viewBox") ?? "").split(/[ ,]+/).map(Number);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("viewBox", `${x} ${y} ${wide || width} ${high || height}`);
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  for (const [key, value] of Object.entries({ x, y, width: wide || width, height: high || height }))
    paper.setAttribute(key, String(value));
  paper.setAttribute("fill", getComputedStyle(document.documentElement).getPropertyValue("--paper"));
  copy.prepend(paper);
  return { text: new XMLSerializer().serializeToString(copy), width, height };
}

export const saveSvg = (svg: SVGSVGElement, name: string): void => saveText(alone(svg).text, name, "image/svg+xml");

export async function savePng(svg: SVGSVGElement, name: string, scale = 2): Promise<void> {
  const { text, width, height } = alone(svg);
  const picture = new Image();
  picture.src = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
  await picture.decode();
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * scale);
  canvas.height = Math.round(height * scale);
  canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  URL.revokeObjectURL(picture.src);
  canvas.toBlob((blob) => blob && saveBlob(blob, name), "image/png");
}
