// Elements and text. Words go in as text alone, never as markup.

const SVG = "http://www.w3.org/2000/svg";

function filled(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, String(value));
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return node;
}

export function el(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

export function place(id) {
  return document.getElementById(id);
}

export function fill(id, ...children) {
  place(id).replaceChildren(...children.flat().filter((child) => child !== null && child !== ""));
}

// Say something to who cannot see it: "now" cuts in, "calm" waits its turn.
export function say(words, how = "calm") {
  place(how === "now" ? "said-now" : "said").textContent = words;
}

export function button(words, onclick, look = "", more = {}) {
  return el("button", { type: "button", class: look, onclick, ...more }, words);
}
