// The plan: by a form or from a file. What the form doesn't show stays in the plan as it came.

import * as server from "./server.js";
import { announce, attempt, complain, el, field, save, unhurried } from "./elements.js";
import { Drawdown, MOST_ENDS, MOST_ROWS } from "./drawdown.js";

const TOP = [
  ["title", "What the band is", "Ferry-quay lamp pull"],
  ["ends", "Ends (warp positions)", "13", "number"],
  ["width_in_loom", "Width in the loom", "1 1/2 in"],
  ["woven_length", "Woven length", "7 in"],
  ["picks", "Picks", "10 per inch"],
  ["draw_in", "Draw-in you expect", "7 %"],
  ["header_picks", "Header picks at each end", "3", "number"],
  ["finish_on_row", "Finish on drawdown row", "1", "number"],
  ["thickness", "Thickness of the cloth", "3 mm"],
  ["hardware_width", "Hardware it must pass", "1 1/2 in"],
];
const GROUPS = {
  warp: ["Warp", [["yarn", "Yarn", "8/4 cotton"], ["strands", "Strands in an end", "2", "number"], ["take_up", "Take-up", "8 %"],
    ["loom_waste", "Loom waste in all", "8 in"], ["fringe", "Fringe at each end", "1 in"]]],
  weft: ["Weft", [["yarn", "Yarn", "560 yd/lb"], ["crimp", "Crimp", "12 %"], ["working_length", "Length in hand", "3 yd"]]],
  tolerance: ["How far it may lie off", [["picks", "Picks", "8 %"], ["draw_in", "Draw-in, points", "10 %"], ["beat", "Beat", "8 %"], ["waviness", "Selvedge", "0.5 mm"]]],
};

export class PlanForm {
  constructor(host) {
    this.host = host;
    this.plan = null;
    this.good = null;
    this.check = unhurried(() => this.work(), 350);
    this.draw();
  }

  // The plan's text where there is one that can be woven.
  text() { return this.good; }

  set(plan) {
    this.plan = plan;
    this.draw();
    this.work();
  }

  draw() {
    const open = el("input", { type: "file", accept: ".json,application/json", onchange: (event) => this.open(event.target) });
    const has = this.plan !== null;
    this.worked = el("div", { class: "worked", "aria-live": "polite" });
    this.host.replaceChildren(
      el("h2", { id: "plan-title" }, "Plan"),
      el("p", { class: "lead" }, "What you meant to weave. Without it the picks are found from the cloth alone, and nothing is held against a plan."),
      el("p", { class: "row" },
        el("label", { class: has ? "button" : "button strong" }, "Open a plan file ", open),
        el("button", { type: "button", id: "new-plan", onclick: () => this.starter() }, "Start a new plan"),
        has ? el("button", { type: "button", onclick: () => this.save() }, "Save this plan") : null,
        has ? el("button", { type: "button", onclick: () => this.drop() }, "Measure without a plan") : null),
      has ? this.form() : el("p", {}, "No plan lies on the desk."),
    );
  }

  form() {
    return el("form", { class: "plan", onsubmit: (event) => event.preventDefault() },
      el("div", { class: "fields" }, TOP.map((row) => this.input(this.plan, row))),
      this.drawdownPart(),
      Object.entries(GROUPS).map(([key, [name, rows]]) => el("details", { open: Boolean(this.plan[key]) }, el("summary", {}, name),
        el("div", { class: "fields" }, rows.map((row) => this.input(null, row, key))))),
      this.worked);
  }

  input(group, [key, label, example, kind], part) {
    const holder = () => (part ? this.plan[part] ?? {} : this.plan);
    return field(label, el("input", {
      name: part ? `${part}.${key}` : key, value: holder()[key] ?? "", placeholder: example, inputmode: kind === "number" ? "numeric" : "text",
      oninput: (event) => {
        const typed = event.target.value.trim();
        const values = holder();
        if (!typed) delete values[key];
        else values[key] = kind === "number" && /^\d+$/.test(typed) ? Number(typed) : typed;
        if (part) {
          if (Object.keys(values).length) this.plan[part] = values;
          else delete this.plan[part];
        }
        this.check();
      },
    }));
  }

  drawdownPart() {
    const host = el("div", { class: "scroll", tabindex: 0, role: "group", "aria-label": "Drawdown, scrolls sideways" });
    const texts = this.plan.drawdown ?? [];
    const grid = new Drawdown(host, () => {
      this.plan.drawdown = grid.texts();
      this.check();
    });
    const legend = el("legend", {}, "Drawdown");
    if (texts.length && !Drawdown.canPaint(texts)) {
      return el("fieldset", {}, legend, el("p", { class: "hint" }, "This drawdown is too large, or its rows too unlike, to be painted here; it stays as the file has it."));
    }
    if (!texts.length) {
      return el("fieldset", {}, legend, el("p", {}, "No drawdown: mis-woven picks are told against the cloth’s own repeat, where it is clear. ",
        el("button", { type: "button", onclick: () => { this.plan.drawdown = ["ou", "uo"]; this.draw(); this.work(); } }, "Paint one")));
    }
    grid.set(texts);
    const size = (label, value, most, set) => field(label, el("input", {
      type: "number", min: 1, max: most, value, size: 4,
      onchange: (event) => set(Math.max(1, Math.min(most, Math.round(Number(event.target.value)) || 1))),
    }));
    return el("fieldset", {}, legend,
      el("div", { class: "row" },
        size("Rows", texts.length, MOST_ROWS, (rows) => grid.resize(rows, grid.rows[0].length)),
        size("Ends in the repeat", grid.rows[0].length, MOST_ENDS, (ends) => grid.resize(grid.rows.length, ends)),
        el("button", { type: "button", onclick: () => { delete this.plan.drawdown; this.draw(); this.work(); } }, "No drawdown")),
      host,
      el("p", { class: "hint" }, "Filled: the weft goes over that end. The row woven first is the lowest; the first end is at your left. A repeat narrower than the band goes on across it."));
  }

  async work() {
    const text = JSON.stringify(this.plan, null, 2);
    try {
      const worked = await server.workPlan(text);
      if (text !== JSON.stringify(this.plan, null, 2)) return;
      this.worked.replaceChildren(el("h3", {}, "What it works out to"), el("pre", { tabindex: 0 }, worked.text),
        worked.caution ? el("p", { class: "caution" }, worked.caution) : "");
      this.take(`${text}\n`);
    } catch (error) {
      this.worked.replaceChildren(el("p", { class: "wrong" }, error.message));
      this.take(null);
    }
  }

  take(text) {
    if (text === this.good) return;
    this.good = text;
    this.onchange?.();
  }

  async open(input) {
    const [file] = input.files;
    if (!file) return;
    try {
      const text = await file.text();
      await server.workPlan(text);
      this.set(JSON.parse(text));
      announce(`${file.name} is the plan now.`);
    } catch (error) {
      complain(new Error(`${file.name}: ${error.message}`));
    }
    input.value = "";
  }

  starter() {
    attempt(async () => this.set(JSON.parse(await server.starterPlan())));
  }

  save() {
    const name = (this.plan.title ?? "plan").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "plan";
    save(new Blob([JSON.stringify(this.plan, null, 2), "\n"], { type: "application/json" }), `${name}.plan.json`);
  }

  drop() {
    this.plan = null;
    this.draw();
    this.take(null);
    this.host.querySelector("#new-plan").focus();
  }
}
