// Numbers as people type and read them.

// "3.5", "3,5" and "−3.5" are numbers; anything else is null.
export function parsed(text) {
  const plain = String(text ?? "").trim().replace(",", ".").replace("−", "-");
  return /^-?\d{1,6}(\.\d{1,6})?$/.test(plain) ? Number(plain) : null;
}

export function shown(value, places = 1) {
  const text = value.toFixed(places).replace(/\.0+$/, "");
  return (text === "-0" ? "0" : text).replace("-", "−");
}

export function span(low, high, unit) {
  return `${shown(low)} to ${shown(high)}\u00a0${unit}`;
}

export function clock(seconds) {
  const left = Math.max(0, Math.ceil(seconds));
  return left < 60 ? `${left}\u00a0s` : `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
}

// "18:30", as the clock on the phone shows it.
export function timeOfDay(iso) {
  const when = new Date(iso);
  return `${String(when.getHours()).padStart(2, "0")}:${String(when.getMinutes()).padStart(2, "0")}`;
}
