// Putting right what the program saw wrongly. Every place is in mm from the start of the body that it
// finds by itself, as the corrections file counts; the program does the rest.

import { announce, complain, el, field, svg, unhurried } from "./elements.js";
import { Handle } from "./handle.js";

export const none = () => ({ schema: "evenfell/corrections/1", body: {}, selvedges: [], inserted_picks_mm: [], deleted_picks: [] });

const round = (mm) => Math.round(mm * 100) / 100;

// The band's own ruler: between places in the photo and places on the band.
export class Axis {
  constructor(places) {
    this.places = places.map(([at, x, y, dx, dy]) => ({ at, x, y, dx, dy }));
  }

  get from() { return this.places[0].at; }
  get to() { return this.places[this.places.length - 1].at; }

  on(at) {
    const { places } = this;
    let k = places.findIndex((place) => place.at >= at);
    k = Math.max(1, k < 0 ? places.length - 1 : k);
    const [a, b] = [places[k - 1], places[k]];
    const share = (at - a.at) / (b.at - a.at);
    const mix = (name) => a[name] + share * (b[name] - a[name]);
    return { x: mix("x"), y: mix("y"), dx: mix("dx"), dy: mix("dy") };
  }

  // The photo's place of (along, rightward) on the band.
  point(at, right = 0) {
    const on = this.on(at);
    return { x: on.x + right * on.dx, y: on.y + right * on.dy };
  }

  // (along, rightward) of a place in the photo.
  place(point) {
    let best = { far: Infinity };
    for (let k = 1; k < this.places.length; k++) {
      const [a, b] = [this.places[k - 1], this.places[k]];
      const along = { x: b.x - a.x, y: b.y - a.y };
      const share = Math.max(0, Math.min(1,
        ((point.x - a.x) * along.x + (point.y - a.y) * along.y) / (along.x ** 2 + along.y ** 2)));
      const foot = { x: a.x + share * along.x, y: a.y + share * along.y };
      const far = Math.hypot(point.x - foot.x, point.y - foot.y);
      if (far < best.far) best = { far, at: a.at + share * (b.at - a.at), foot, dx: a.dx, dy: a.dy };
    }
    const across = (point.x - best.foot.x) * best.dx + (point.y - best.foot.y) * best.dy;
    return { at: best.at, right: across / (best.dx ** 2 + best.dy ** 2) };
  }
}

export class Mending {
  // `changed` measures anew with the photo's corrections.
  constructor(host, stage, changed) {
    this.host = host;
    this.stage = stage;
    this.changed = changed;
    this.soon = unhurried(() => this.changed(), 250);
    this.handles = [];
    this.tool = "look";
    this.pushed = -Infinity;
  }

  // Whether there is nothing to put right: no result yet, or cloth all over, which has no ends or selvedges.
  get idle() { return !this.photo.reply || Boolean(this.photo.reply.measurement.swatch); }

  show(photo) {
    this.photo = photo;
    this.host.hidden = this.idle;
    if (this.idle) return this.clear();
    const tool = (name, label) => el("label", { class: "choice small" },
      el("input", { type: "radio", name: "tool", value: name, checked: this.tool === name, onchange: () => this.take(name) }),
      el("span", {}, label));
    const button = (label, press, id) => el("button", { type: "button", id, onclick: press }, label);
    this.number = el("input", { type: "number", min: 1, size: 5, id: "pick-number", inputmode: "numeric" });
    this.at = el("input", { type: "number", step: "0.1", size: 7, id: "pick-at" });
    this.side = el("select", { onchange: () => this.take("selvedge") },
      el("option", { value: "right" }, "right"), el("option", { value: "left" }, "left"));
    this.within = el("input", { type: "number", value: "1", min: 0.2, max: 5, step: 0.1, size: 5 });
    this.tools = {
      look: el("p", { class: "hint" }, "The two bars are the ends of the body: drag them, or move them with the arrow keys (0.1 mm; with Shift: 1 mm). The figures follow."),
      take: el("div", { class: "row" }, field("Pick", this.number), button("Take it out", () => this.takeOut(Number(this.number.value)), "take-out"),
        el("p", { class: "hint" }, "or click a pick in the photo.")),
      put: el("div", { class: "row" }, field("At mm", this.at), button("Put one in", () => this.putIn(Number(this.at.value)), "put-in"),
        el("p", { class: "hint" }, "or click its place in the photo. Places count from the start of the body that was found.")),
      selvedge: el("div", { class: "row" }, field("Which selvedge", this.side), field("Within ± mm", this.within),
        button("Seek it along this line", () => this.seek(), "seek"),
        el("p", { class: "hint" }, "Lay both marks on the true selvedge; it is sought again between them.")),
    };
    this.undo = button("Undo", () => this.goBack(), "undo");
    this.fresh = button("Take all changes back", () => this.change(none()), "all-back");
    this.panel = el("div", { class: "panel" });
    this.host.replaceChildren(el("fieldset", { class: "tools" }, el("legend", {}, "Put right what isn’t so"),
      el("div", { class: "choices" }, tool("look", "Ends of the body"), tool("take", "Take out a pick"), tool("put", "Put in a pick"), tool("selvedge", "Selvedge")),
      this.panel,
      el("div", { class: "row" }, this.undo, this.fresh, button("The other end is the start", () => this.turn(), "turn"))));
    this.take(this.tool);
  }

  // After the figures came in: marks move, the focus stays.
  follow() {
    if (this.host.hidden !== this.idle) return this.show(this.photo);
    if (this.idle) return;
    const { marks } = this.photo.reply;
    this.axis = new Axis(marks.axis);
    this.undo.disabled = this.photo.history.length === 0;
    this.fresh.disabled = JSON.stringify(this.photo.corrections) === JSON.stringify(none());
    this.number.max = marks.picks.length;
    if (this.tool === "selvedge") return;
    if (this.ends) {
      this.ends.forEach((end, index) => { end.at = marks.body[index]; end.handle.put(this.axis.point(end.at)); });
      this.drawEnds();
    }
  }

  take(tool) {
    if (this.idle) return;
    this.clear();
    this.tool = tool;
    this.panel.replaceChildren(this.tools[tool]);
    for (const input of this.host.querySelectorAll("input[name=tool]")) input.checked = input.value === tool;
    const { marks } = this.photo.reply;
    this.axis = new Axis(marks.axis);
    this.stage.onplace = { take: (point) => this.takeNearest(point), put: (point) => this.putIn(this.axis.place(point).at) }[tool] ?? null;
    this.stage.view.classList.toggle("aiming", tool === "take" || tool === "put");
    if (tool === "selvedge") this.layLine();
    else this.layEnds();
    this.follow();
  }

  clear() {
    for (const handle of this.handles) handle.remove();
    this.handles = [];
    this.ends = null;
    this.stage.lines.replaceChildren();
    this.stage.view.classList.remove("aiming");
    this.stage.onplace = null;
  }

  layEnds() {
    const { body } = this.photo.reply.marks;
    this.ends = ["from_mm", "to_mm"].map((key, index) => {
      const end = { key, at: body[index] };
      const set = (at) => {
        end.at = round(Math.max(this.axis.from, Math.min(at, this.axis.to)));
        end.handle.put(this.axis.point(end.at));
        this.drawEnds();
      };
      end.handle = new Handle(this.stage, {
        label: index === 0 ? "Start of the body" : "Finish of the body",
        kind: "end",
        at: this.axis.point(end.at),
        moved: (point) => set(this.axis.place(point).at),
        nudged: (dx, dy, large) => {
          const on = this.axis.on(end.at);
          // Along the band runs where across doesn't: the arrow that points along it counts.
          const along = Math.abs(on.dx) < Math.abs(on.dy) ? dx * Math.sign(on.dy) : -dy * Math.sign(on.dx);
          set(end.at + along * (large ? 1 : 0.1));
        },
        value: () => end.at,
        text: () => `${end.at.toFixed(1)} mm`,
        done: () => this.endMoved(end),
      });
      this.handles.push(end.handle);
      return end;
    });
    this.drawEnds();
  }

  drawEnds() {
    const reach = this.reach();
    this.stage.lines.replaceChildren(...this.ends.map((end) => {
      const [a, b] = [this.axis.point(end.at, -reach), this.axis.point(end.at, reach)];
      return svg("line", { class: "bar", x1: a.x, y1: a.y, x2: b.x, y2: b.y });
    }));
  }

  // Half the band's width and a little, mm.
  reach() {
    const width = this.photo.reply.measurement.width;
    return (width ? width.max_mm.value : 30) / 2 + 3;
  }

  endMoved(end) {
    const other = this.ends.find((one) => one !== end);
    if (end.key === "from_mm" ? end.at >= other.at : end.at <= other.at) {
      complain(new Error("the start of the body comes before its finish"));
      return;
    }
    this.change({ ...this.photo.corrections, body: { ...this.photo.corrections.body, [end.key]: end.at } }, true);
  }

  takeNearest(point) {
    const { at } = this.axis.place(point);
    const far = (pick) => Math.abs(pick.at - at);
    const nearest = this.photo.reply.marks.picks.reduce((a, b) => (far(b) < far(a) ? b : a));
    this.takeOut(nearest.number);
  }

  takeOut(number) {
    const pick = this.photo.reply.marks.picks.find((one) => one.number === number);
    if (!pick) return complain(new Error(`there is no pick ${number || "without a number"}: there are ${this.photo.reply.marks.picks.length}`));
    const { corrections } = this.photo;
    const inserted = corrections.inserted_picks_mm.filter((at) => Math.abs(at - pick.at) > 0.02);
    if (inserted.length < corrections.inserted_picks_mm.length) this.change({ ...corrections, inserted_picks_mm: inserted });
    else if (pick.own) this.change({ ...corrections, deleted_picks: [...corrections.deleted_picks, pick.own].sort((a, b) => a - b) });
    else return complain(new Error("this pick lies outside the body that was found: move the body’s end instead"));
    announce(`Pick ${number} is taken out.`);
  }

  putIn(at) {
    if (!Number.isFinite(at)) return complain(new Error("type where the pick lies, in mm"));
    const { corrections } = this.photo;
    this.change({ ...corrections, inserted_picks_mm: [...corrections.inserted_picks_mm, round(at)] });
  }

  layLine() {
    const { marks, measurement } = this.photo.reply;
    const side = this.side.value;
    const profile = measurement.width?.profile;
    const edge = (at) => {
      if (!profile) return this.reach() - 3;
      const inBody = at - marks.body[0];
      const k = Math.max(0, profile.at_mm.findIndex((place) => place >= inBody));
      return profile[`${side}_mm`][k];
    };
    const sign = side === "left" ? -1 : 1;
    this.line = [0.4, 0.6].map((share, index) => {
      const at = marks.body[0] + share * (marks.body[1] - marks.body[0]);
      const end = { at, out: edge(at) };
      const set = () => {
        end.handle.put(this.axis.point(end.at, sign * end.out));
        this.drawLine(sign);
      };
      end.handle = new Handle(this.stage, {
        label: index === 0 ? "Selvedge, first place" : "Selvedge, second place",
        kind: "mark",
        at: this.axis.point(end.at, sign * end.out),
        moved: (point) => {
          const place = this.axis.place(point);
          [end.at, end.out] = [place.at, sign * place.right];
          set();
        },
        nudged: (dx, dy, large) => {
          const point = end.handle.at;
          const unit = large ? 10 : 1;
          const place = this.axis.place({ x: point.x + dx * unit, y: point.y + dy * unit });
          [end.at, end.out] = [place.at, sign * place.right];
          set();
        },
        value: () => end.at,
        text: () => `${end.at.toFixed(1)} mm along, ${end.out.toFixed(1)} mm from the middle`,
      });
      this.handles.push(end.handle);
      return end;
    });
    this.drawLine(sign);
  }

  drawLine(sign) {
    if (!this.line?.every((end) => end.handle)) return;
    const [a, b] = this.line.map((end) => end.handle.at);
    this.stage.lines.replaceChildren(svg("line", { class: "between", x1: a.x, y1: a.y, x2: b.x, y2: b.y }));
    this.sign = sign;
  }

  seek() {
    const line = this.line.map((end) => ({ at_mm: round(end.at), out_mm: round(end.out) })).sort((a, b) => a.at_mm - b.at_mm);
    const { corrections } = this.photo;
    const made = { side: this.side.value, within_mm: Number(this.within.value), line };
    this.change({ ...corrections, selvedges: [...corrections.selvedges, made] });
  }

  turn() {
    const { marks } = this.photo.reply;
    const [a, b] = marks.body.map((at) => this.axis.point(at));
    const lies = Math.abs(b.x - a.x) >= Math.abs(b.y - a.y);
    const start = lies ? (a.x < b.x ? "right" : "left") : (a.y < b.y ? "bottom" : "top");
    this.photo.settings.start = "";
    this.change({ ...none(), start });
    announce("The other end is the start now. Other changes are taken back: they count from the start.");
  }

  change(corrections, unhurriedly = false) {
    // Keys that push an end along, one after the other, are one change.
    const now = performance.now();
    const goesOn = unhurriedly && now - this.pushed < 1500;
    this.pushed = unhurriedly ? now : -Infinity;
    if (!goesOn) this.photo.history.push(JSON.stringify(this.photo.corrections));
    this.photo.corrections = corrections;
    if (unhurriedly) this.soon();
    else this.changed();
  }

  goBack() {
    const before = this.photo.history.pop();
    if (!before) return;
    this.pushed = -Infinity;
    this.photo.corrections = JSON.parse(before);
    this.changed();
  }
}
