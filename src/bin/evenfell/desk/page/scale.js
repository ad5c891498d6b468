// How the program is told how large a millimetre is, which end was woven first, and what the photo shows.

import { el, field, announce } from "./elements.js";
import { Handle } from "./handle.js";

const WAYS = [
  ["auto", "By itself", "the printed sheet if it is seen, else a scanner’s own resolution"],
  ["sheet", "The printed sheet", "the whole sheet in the picture"],
  ["dpi", "The scanner", "the resolution that the scanner wrote into the file"],
  ["typed", "A resolution that you type", "as the scanner was set"],
  ["card", "A card beside the band", "a bank card, flat on the same ground (ISO/IEC 7810 ID-1)"],
  ["points", "Two places in the photo", "click them, then type how far apart they are"],
];

export const fresh = () => ({ way: "auto", dpi: "300", bar: "", points: [], length: "", start: "", state: "", shows: "band", piece: "", count: "" });

// What speaks of one photo alone is asked anew for the next.
export const forAnother = (settings) => ({ ...settings, points: [], length: "", piece: "", count: "" });

// The scale as the command line takes it; throws where something is still missing.
export function scaleOf(settings) {
  switch (settings.way) {
    case "typed": return `${settings.dpi.trim()}dpi`;
    case "points": {
      if (settings.points.length < 2) throw new Error("click two places in the photo first");
      if (!settings.length.trim()) throw new Error("type how far apart the two places are, such as 120 mm");
      const numbers = settings.points.flatMap((p) => [p.x.toFixed(2), p.y.toFixed(2)]);
      return `points:${numbers.join(",")}=${settings.length.trim()}`;
    }
    default: return settings.way;
  }
}

export class ScaleForm {
  constructor(host, stage, measure) {
    this.host = host;
    this.stage = stage;
    this.measure = measure;
    this.handles = [];
  }

  show(photo) {
    this.photo = photo;
    this.clearHandles();
    const { settings } = photo;
    const ways = WAYS.map(([way, name, hint]) => el("label", { class: "choice" },
      el("input", {
        type: "radio", name: "way", value: way, checked: settings.way === way,
        onchange: () => { settings.way = way; this.more(); },
      }), el("span", {}, name, el("small", {}, hint))));
    const select = (key, options) => el("select", { id: `settings-${key}`, onchange: (event) => { settings[key] = event.target.value; this.more(); } },
      options.map(([value, name]) => el("option", { value, selected: settings[key] === value }, name)));
    this.extra = el("div", { class: "extra" });
    this.piece = field("Only this piece of it", this.typed("piece", { placeholder: "120,80,600,400", size: 16 }),
      "left edge, upper edge, width and height in pixels; leave empty for the whole photo");
    const body = el("form", {
      class: "settings",
      onsubmit: (event) => { event.preventDefault(); this.measure(); },
    },
    el("fieldset", { class: "ways" }, el("legend", {}, "How large is a millimetre?"), ways, this.extra),
    el("div", { class: "fields" },
      field("The photo shows", select("shows", [["band", "a whole band"], ["part", "a stretch of a longer piece"],
        ["cloth", "cloth all over, no edge in view"]])),
      this.piece,
      field("The weaving started at", select("start", [["", "the left or lower end"], ["left", "the left end"],
        ["right", "the right end"], ["top", "the upper end"], ["bottom", "the lower end"]])),
      field("The cloth is", select("state", [["", "not noted"], ["in-loom", "still in the loom"],
        ["off-loom", "off the loom"], ["washed", "washed"]])),
      field("Your own count, if you made one", this.typed("count", { placeholder: "11 in 1 in at 2 in", size: 16 }),
        "so many picks, over what length, from where on")),
    el("button", { class: "strong", id: "measure" }, "Measure"));
    const box = el("details", { id: "scale-box", open: !photo.reply }, el("summary", {}, "Scale, start and what the photo shows"), body);
    this.host.replaceChildren(box);
    this.more();
  }

  typed(key, attributes) {
    const { settings } = this.photo;
    return el("input", {
      id: `settings-${key}`, ...attributes, value: settings[key],
      oninput: (event) => { settings[key] = event.target.value; },
    });
  }

  more() {
    const { settings } = this.photo;
    this.clearHandles();
    this.extra.replaceChildren(...{
      typed: () => [field("Pixels per inch", this.typed("dpi", { type: "number", min: 20, max: 5000, inputmode: "numeric" }))],
      sheet: () => [this.bar()],
      auto: () => [this.bar()],
      points: () => this.pointFields(),
    }[settings.way]?.() ?? []);
    this.piece.hidden = settings.shows !== "cloth";
    if (settings.way === "points") this.takePoints();
  }

  bar() {
    return field("With the sheet: its check bar measures", this.typed("bar", { placeholder: "100 mm", size: 8 }),
      "measure the bar on your print with a ruler; leave empty if it is 100 mm");
  }

  pointFields() {
    return [
      el("p", { class: "hint" }, "Click the two places: two marks of a ruler, the farther apart the better. Then drag each mark, or move it with the arrow keys (with Shift: ten pixels)."),
      el("p", {}, el("button", { type: "button", id: "marks-by-keys", onclick: () => this.byKeys() }, "Set both marks without the mouse")),
      field("They are apart by", this.typed("length", { id: "length", placeholder: "120 mm", size: 10 }), "with mm, cm or in"),
    ];
  }

  takePoints() {
    const { stage, photo } = this;
    stage.aiming = true;
    stage.view.classList.add("aiming");
    stage.onplace = (point) => this.place(point);
    for (const index of photo.settings.points.keys()) this.addHandle(index);
    this.drawLine();
  }

  place(point) {
    const { points } = this.photo.settings;
    if (points.length < 2) {
      points.push(point);
      this.addHandle(points.length - 1);
      announce(points.length === 1 ? "First mark set. Click the second place." : "Both marks set. Type how far apart they are.");
    } else {
      const far = (p) => Math.hypot(p.x - point.x, p.y - point.y);
      const nearest = far(points[0]) <= far(points[1]) ? 0 : 1;
      points[nearest] = point;
      this.handles[nearest].put(point);
    }
    this.drawLine();
  }

  byKeys() {
    const { points } = this.photo.settings;
    const { box } = this.stage;
    for (const share of [0.2, 0.8].slice(points.length)) {
      this.place({ x: Math.round(box.x + share * box.width), y: Math.round(box.y + box.height / 2) });
    }
    this.handles[0].group.focus();
  }

  addHandle(index) {
    const { points } = this.photo.settings;
    const set = (point) => {
      points[index] = {
        x: Math.max(0, Math.min(point.x, this.photo.width - 1)),
        y: Math.max(0, Math.min(point.y, this.photo.height - 1)),
      };
      this.handles[index].put(points[index]);
      this.drawLine();
    };
    this.handles[index] = new Handle(this.stage, {
      label: index === 0 ? "First mark" : "Second mark",
      kind: "mark",
      at: points[index],
      moved: set,
      nudged: (dx, dy, large) => {
        const step = large ? 10 : 1;
        set({ x: points[index].x + dx * step, y: points[index].y + dy * step });
      },
      text: () => `${points[index].x.toFixed(1)} px from the left, ${points[index].y.toFixed(1)} px from the top`,
    });
  }

  drawLine() {
    const { points } = this.photo.settings;
    this.stage.lines.replaceChildren();
    if (points.length < 2) return;
    const line = document.createElementNS("http://www.w3.org/2000/svg", "line");
    for (const [name, value] of [["x1", points[0].x], ["y1", points[0].y], ["x2", points[1].x], ["y2", points[1].y]]) {
      line.setAttribute(name, value);
    }
    line.setAttribute("class", "between");
    this.stage.lines.append(line);
  }

  clearHandles() {
    for (const handle of this.handles) handle.remove();
    this.handles = [];
    this.stage.lines.replaceChildren();
    this.stage.aiming = false;
    this.stage.view.classList.remove("aiming");
    this.stage.onplace = null;
  }
}
