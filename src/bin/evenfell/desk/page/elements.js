// Small things that every part of the page needs: making elements, and telling the weaver.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked") node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat()) {
    if (child !== null && child !== undefined) node.append(child);
  }
  return node;
}

export const el = (tag, attributes = {}, ...children) =>
  fill(document.createElement(tag), attributes, children);

export const svg = (tag, attributes = {}, ...children) =>
  fill(document.createElementNS(SVG, tag), attributes, children);

export const byId = (id) => document.getElementById(id);

// A labelled field: the label stands above or before its control.
export const field = (label, control, hint) =>
  el("label", { class: "field" }, el("span", {}, label), control,
    hint ? el("small", {}, hint) : null);

// Says what goes on, politely, for a while; what went wrong, at once and until something else is said.
const QUIET_AFTER = 12000;
let quiet;

export function announce(text) {
  clearTimeout(quiet);
  byId("alert").textContent = "";
  byId("status").textContent = text;
  quiet = setTimeout(() => { byId("status").textContent = ""; }, QUIET_AFTER);
}

export function complain(error) {
  byId("status").textContent = "";
  byId("alert").textContent = error.message ?? String(error);
}

// Runs something that may fail and says so if it does.
export async function attempt(work) {
  try {
    return await work();
  } catch (error) {
    complain(error);
    return undefined;
  }
}

// Waits until nothing has been asked for a while, then does the last thing asked.
export function unhurried(work, milliseconds) {
  let waiting;
  return (...given) => {
    clearTimeout(waiting);
    waiting = setTimeout(() => work(...given), milliseconds);
  };
}

export const stem = (name) => name.replace(/\.[^.]+$/, "") || name;

// Saves bytes as a file.
export function save(blob, name) {
  const address = URL.createObjectURL(blob);
  const link = el("a", { href: address, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}
