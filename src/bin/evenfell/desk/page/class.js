// Several bands side by side, and what is taken along: files, the sheet, yarn for the next.

import * as server from "./server.js";
import { announce, attempt, el, field, save, stem } from "./elements.js";

// A quantity in the unit of its column: digits, and by what it is divided.
const value = (quantity, digits, by = 1) => quantity
  ? `${(quantity.value / by).toFixed(digits)} ± ${(quantity.u95 / by).toFixed(digits)}`.replace("-", "−") : "–";

// What stands in the table: name, its quantity, digits, and by what it is divided.
const columns = (units) => [
  units === "cm" ? ["Picks per cm", (m) => m.picks?.per_inch, 3, 2.54] : ["Picks per inch", (m) => m.picks?.per_inch, 2],
  ["Spacing CV, %", (m) => m.picks?.spacing_cv_percent, 1],
  ["Drift, %", (m) => m.beat?.drift_percent, 1],
  { in: ["Width, in", (m) => m.width?.mean_mm, 3, 25.4], cm: ["Width, cm", (m) => m.width?.mean_mm, 2, 10] }[units]
    ?? ["Width, mm", (m) => m.width?.mean_mm, 1],
  ["Draw-in, %", (m) => m.draw_in_percent, 1],
  ["Left selvedge, mm", (m) => m.selvedges?.left.wq_mm, 2],
  ["Right selvedge, mm", (m) => m.selvedges?.right.wq_mm, 2],
];
const BY = { beat: "Evenness of the beat", picks: "Picks as planned", draw_in: "Draw-in as planned", selvedges: "Straight selvedges" };

export class ClassTable {
  constructor(host, bands, plan, units) {
    Object.assign(this, { host, bands, plan, units });
    this.names = new Map();
    this.left = new Set();
    this.sorted = null;
    this.kits = "1";
    this.weighed = "";
    this.inOrder = false;
    this.sameBand = false;
  }

  show() {
    if (this.host.hidden) return;
    const measured = this.bands.measured();
    this.result = el("div", { id: "comparison", tabindex: -1 });
    this.yarnText = el("div", { "aria-live": "polite" });
    this.host.replaceChildren(
      el("h2", { id: "class-title" }, "Class"),
      measured.length ? el("div", { class: "scroll", tabindex: 0, role: "group", "aria-label": "The bands, scrolls sideways" }, this.table(measured))
        : el("p", {}, "No band is measured yet. ", el("a", { href: "#bands" }, "Put photos on the desk and measure them.")),
      measured.length > 1 ? this.compareForm() : "",
      this.result,
      this.takeAlong(measured.length > 0),
      this.yarnForm());
  }

  table(measured) {
    const shown = columns(this.units());
    const bands = [...measured];
    if (this.sorted) {
      const [column, down] = this.sorted;
      const key = (photo) => shown[column][1](photo.reply.measurement)?.value ?? Infinity;
      bands.sort((a, b) => (down ? key(b) - key(a) : key(a) - key(b)));
    }
    const head = shown.map(([name], index) => {
      const order = this.sorted?.[0] === index ? (this.sorted[1] ? "descending" : "ascending") : "none";
      return el("th", { scope: "col", "aria-sort": order }, el("button", {
        type: "button", class: "sort", id: `sort-${index}`,
        onclick: () => {
          this.sorted = [index, order === "ascending"];
          this.show();
          document.getElementById(`sort-${index}`).focus();
        },
      }, name, el("span", { "aria-hidden": "true" }, { ascending: " ↑", descending: " ↓", none: "" }[order])));
    });
    const line = (photo) => {
      const name = this.names.get(photo.id) ?? "";
      return el("tr", {},
        el("td", {}, el("input", {
          type: "checkbox", "aria-label": `Compare ${photo.name}`, checked: !this.left.has(photo.id),
          onchange: (event) => (event.target.checked ? this.left.delete(photo.id) : this.left.add(photo.id)),
        })),
        el("th", { scope: "row" }, el("input", {
          value: name, placeholder: stem(photo.name), "aria-label": `Name of the band in ${photo.name}`, size: 14,
          oninput: (event) => this.names.set(photo.id, event.target.value),
        })),
        shown.map(([, of, digits, by]) => el("td", { class: "number" }, value(of(photo.reply.measurement), digits, by))));
    };
    return el("table", { class: "class" },
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "take"), el("th", { scope: "col" }, "band or weaver"), head)),
      el("tbody", {}, bands.map(line)));
  }

  compareForm() {
    const tick = (label, key, other) => el("label", { class: "choice small" }, el("input", {
      type: "checkbox", checked: this[key],
      onchange: (event) => {
        this[key] = event.target.checked;
        if (this[key]) this[other] = false;
        this.show();
      },
    }), el("span", {}, label));
    return el("div", { class: "row" },
      tick("one weaver’s, oldest first", "inOrder", "sameBand"), tick("photos of one band", "sameBand", "inOrder"),
      el("button", { type: "button", class: "strong", id: "compare", onclick: () => this.compare() }, "Compare"));
  }

  asked() {
    const bands = this.bands.measured().filter((photo) => !this.left.has(photo.id)).map((photo) => photo.id);
    return { bands, names: Object.fromEntries(this.names), in_order: this.inOrder, same_band: this.sameBand, units: this.units() };
  }

  compare() {
    attempt(async () => {
      const { comparison, text } = await server.compare(this.asked());
      const places = (order) => el("section", {}, el("h4", {}, BY[order.by] ?? order.by),
        el("ol", {}, order.places.map((names) => el("li", {}, names.join(" and "), names.length > 1 ? el("small", {}, " can’t be told apart") : ""))));
      const remarks = (sample) => el("li", {}, el("strong", {}, sample.name), ": ",
        [sample.strengths.join("; "), sample.work_on ? `to work on: ${sample.work_on}` : ""].filter(Boolean).join(". ") || "nothing stands out");
      const report = `/api/class/report.html?asked=${encodeURIComponent(JSON.stringify(this.asked()))}`;
      this.result.replaceChildren(el("h3", {}, "Side by side"),
        el("p", { class: "row" }, el("a", { class: "button strong", id: "class-report", href: report, target: "_blank", rel: "noopener" },
          "Open the class’s report, a half page for each to take home")),
        el("div", { class: "orders" }, comparison.orders.map(places)),
        comparison.orders.length ? el("ul", {}, comparison.samples.map(remarks)) : "",
        el("ul", { class: "notes" }, [...comparison.notes, ...comparison.not_compared.map((part) => `${part.what}: ${part.why}`)].map((note) => el("li", {}, note))),
        el("details", { open: !comparison.orders.length }, el("summary", {}, "The whole comparison as text"), el("pre", { tabindex: 0 }, text)));
      this.result.focus();
      announce(`${comparison.samples.length} bands are compared.`);
    });
  }

  takeAlong(any) {
    const sheet = (paper, name) => el("a", { class: "button", href: `/api/sheet.pdf?paper=${paper}&ground=white`, target: "_blank", rel: "noopener" }, name);
    const grey = (paper, name) => el("a", { class: "button", href: `/api/sheet.pdf?paper=${paper}&ground=grey`, target: "_blank", rel: "noopener" }, name);
    return el("section", {}, el("h3", {}, "Take along"), el("p", { class: "row" },
      any ? el("button", { type: "button", id: "everything", onclick: () => this.everything() }, "Everything as a zip") : null,
      sheet("a4", "Sheet, A4"), sheet("letter", "Sheet, Letter"), grey("a4", "Grey sheet, A4"), grey("letter", "Grey sheet, Letter")),
    el("p", { class: "hint" }, "Print the sheet at 100 %; the grey one is for light bands."));
  }

  everything() {
    attempt(async () => {
      announce("Packing everything …");
      save(await server.everything(this.asked()), "evenfell.zip");
      announce("Everything is in evenfell.zip.");
    });
  }

  yarnForm() {
    return el("section", {}, el("h3", {}, "Yarn for the next kits"),
      el("p", {}, "As the plan says, and as the bands that are ticked above really used it."),
      el("form", { class: "row", onsubmit: (event) => { event.preventDefault(); this.yarn(); } },
        field("Bands to come", el("input", { type: "number", min: 1, max: 100000, value: this.kits, oninput: (event) => { this.kits = event.target.value; } })),
        field("One finished band weighs", el("input", { value: this.weighed, placeholder: "14.2 g", size: 8, oninput: (event) => { this.weighed = event.target.value; } }), "if you weighed one"),
        el("button", { id: "yarn" }, "Reckon the yarn")),
      this.yarnText);
  }

  yarn() {
    attempt(async () => {
      const plan = this.plan.text();
      if (!plan) throw new Error("yarn is reckoned from a plan: open or write one first");
      const { bands, units } = this.asked();
      const given = { plan, kits: Number(this.kits) || 1, bands, weighed: this.weighed.trim() || null, units };
      const { text } = await server.yardage(given);
      this.yarnText.replaceChildren(el("pre", { tabindex: 0 }, text));
    });
  }
}
