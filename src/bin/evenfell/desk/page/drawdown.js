// The drawdown as a grid to paint: filled where the weft lies over an end. The row woven first is the
// lowest, nearest to the weaver; beside each row stands how it is said.

import { el } from "./elements.js";

export const MOST_ROWS = 24;
export const MOST_ENDS = 32;

// "o1 u2" or "ouu" to a list of trues (over) and falses.
export function cellsOf(text) {
  const cells = [];
  for (const [, letter, count] of text.matchAll(/([ou])\s*(\d*)/gi)) {
    for (let k = 0; k < (count ? Number(count) : 1) && cells.length <= MOST_ENDS; k++) cells.push(letter.toLowerCase() === "o");
  }
  return cells;
}

export const textOf = (cells) => cells.map((over) => (over ? "o" : "u")).join("");

// How a row is said.
export function spoken(cells) {
  const runs = [];
  for (const over of cells) {
    const last = runs[runs.length - 1];
    if (last && last.over === over) last.count++;
    else runs.push({ over, count: 1 });
  }
  return runs.map((run) => `${run.over ? "over" : "under"} ${run.count}`).join(", ");
}

export class Drawdown {
  constructor(host, changed) {
    this.host = host;
    this.changed = changed;
    this.rows = [];
  }

  // Whether every row has as many ends: such a grid can be painted.
  static canPaint(texts) {
    const lengths = texts.map((text) => cellsOf(text).length);
    return texts.length > 0 && texts.length <= MOST_ROWS && lengths.every((n) => n === lengths[0] && n > 0 && n <= MOST_ENDS);
  }

  set(texts) {
    this.rows = texts.map(cellsOf);
    this.draw();
  }

  texts() { return this.rows.map(textOf); }

  resize(rows, ends) {
    const at = (row, end) => this.rows[row]?.[end] ?? (row + end) % 2 === 0;
    this.rows = Array.from({ length: rows }, (_, row) => Array.from({ length: ends }, (_, end) => at(row, end)));
    this.draw();
    this.changed();
  }

  draw() {
    const cell = (row, end) => {
      const over = this.rows[row][end];
      return el("td", {}, el("button", {
        type: "button", class: over ? "cell over" : "cell", "aria-pressed": over ? "true" : "false",
        "aria-label": `Row ${row + 1}, end ${end + 1}: weft over`, tabindex: row === 0 && end === 0 ? 0 : -1,
        "data-row": row, "data-end": end,
      }));
    };
    const lines = this.rows.map((cells, row) => el("tr", {}, el("th", { scope: "row" }, String(row + 1)),
      cells.map((_, end) => cell(row, end)), el("td", { class: "spoken" }, spoken(cells))));
    this.table = el("table", { class: "drawdown", "aria-label": "Drawdown; the row woven first is the lowest; arrow keys move, the space bar paints" },
      el("tbody", {}, lines.reverse()));
    this.host.replaceChildren(this.table);
    this.listen();
  }

  button(row, end) { return this.table.querySelector(`[data-row="${row}"][data-end="${end}"]`); }

  paint(button, over) {
    const [row, end] = [Number(button.dataset.row), Number(button.dataset.end)];
    if (this.rows[row][end] === over) return;
    this.rows[row][end] = over;
    button.classList.toggle("over", over);
    button.setAttribute("aria-pressed", String(over));
    button.closest("tr").lastChild.textContent = spoken(this.rows[row]);
    this.changed();
  }

  listen() {
    let brush = null;
    const at = (event) => document.elementFromPoint(event.clientX, event.clientY)?.closest(".cell");
    this.table.addEventListener("pointerdown", (event) => {
      const button = event.target.closest(".cell");
      if (!button) return;
      brush = button.getAttribute("aria-pressed") !== "true";
      if (event.target.hasPointerCapture(event.pointerId)) event.target.releasePointerCapture(event.pointerId);
      this.paint(button, brush);
      this.rove(button);
    });
    this.table.addEventListener("pointermove", (event) => {
      if (brush === null || event.buttons !== 1) return;
      const button = at(event);
      if (button && this.table.contains(button)) this.paint(button, brush);
    });
    const lift = () => { brush = null; };
    this.table.addEventListener("pointerup", lift);
    this.table.addEventListener("pointercancel", lift);
    this.table.addEventListener("click", (event) => {
      // Keys and reading aids click without a pointer.
      const button = event.target.closest(".cell");
      if (button && event.detail === 0) this.paint(button, button.getAttribute("aria-pressed") !== "true");
    });
    this.table.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [1, 0], ArrowDown: [-1, 0] }[event.key];
      const button = event.target.closest(".cell");
      if (!step || !button) return;
      event.preventDefault();
      const next = this.button(Number(button.dataset.row) + step[0], Number(button.dataset.end) + step[1]);
      if (next) {
        this.rove(next);
        next.focus();
      }
    });
  }

  rove(button) {
    this.table.querySelector('.cell[tabindex="0"]')?.setAttribute("tabindex", -1);
    button.setAttribute("tabindex", 0);
  }
}
