// The photos on the desk: taken in, measured, shown.

import * as server from "./server.js";
import { announce, attempt, byId, complain, el, stem } from "./elements.js";
import { Stage } from "./stage.js";
import { ScaleForm, forAnother, fresh, scaleOf } from "./scale.js";
import { Mending, none } from "./mending.js";
import { drawMarks, showResult } from "./result.js";

const LONGEST = 4000;

export class Bands {
  constructor(plan, units) {
    this.plan = plan;
    this.units = units;
    this.photos = new Map();
    this.stage = new Stage(byId("stage"));
    this.scale = new ScaleForm(byId("settings"), this.stage, () => this.measureShown());
    this.mending = new Mending(byId("mending"), this.stage, () => this.putRight());
    this.turn = Promise.resolve();
    this.listen();
  }

  listen() {
    for (const id of ["files", "camera"]) {
      byId(id).addEventListener("change", (event) => {
        this.takeIn([...event.target.files]);
        event.target.value = "";
      });
    }
    const drop = byId("drop");
    addEventListener("dragover", (event) => {
      event.preventDefault();
      drop.classList.add("over");
    });
    addEventListener("dragleave", () => drop.classList.remove("over"));
    addEventListener("drop", (event) => {
      event.preventDefault();
      drop.classList.remove("over");
      this.takeIn([...event.dataTransfer.files]);
    });
    byId("measure-all").addEventListener("click", () => this.measureAll());
    byId("sample").addEventListener("click", () => attempt(async () => {
      const { photo, plan } = await server.sample();
      this.plan.set(JSON.parse(plan));
      this.add(photo);
      this.choose(photo.id);
      announce("The sample band lies on the desk, and its plan with it. Now measure it.");
    }));
  }

  async load() {
    for (const photo of (await attempt(server.photos)) ?? []) this.add(photo);
    const first = this.photos.keys().next();
    if (!first.done) this.choose(first.value);
  }

  add(photo) {
    this.photos.set(photo.id, {
      ...photo, settings: forAnother(this.last ?? fresh()),
      corrections: none(), history: [], reply: null, trouble: "",
    });
    this.list();
  }

  async takeIn(files) {
    if (!files.length) return;
    const bar = byId("sending");
    bar.hidden = false;
    const failed = [];
    let first = null;
    for (const [index, file] of files.entries()) {
      announce(`Taking in ${index + 1} of ${files.length}: ${file.name}`);
      try {
        const photo = await server.sendPhoto(file, (share) => { bar.value = (index + share) / files.length; });
        this.add(photo);
        first ??= photo.id;
      } catch (error) {
        failed.push(error.message);
      }
    }
    bar.hidden = true;
    bar.value = 0;
    if (first !== null) this.choose(first);
    if (failed.length) complain(new Error(failed.join(" · ")));
    else announce(files.length === 1 ? `${files[0].name} lies on the desk.` : `${files.length} photos lie on the desk.`);
  }

  list() {
    const item = (photo) => {
      const picks = photo.reply?.measurement.picks?.count;
      const state = photo.trouble ? "couldn’t be measured" : !photo.reply ? "not measured yet"
        : photo.reply.plan !== this.plan.text() ? "measured against another plan" : picks ? `${picks} picks` : "measured";
      return el("li", {},
        el("button", { type: "button", class: "photo", "aria-current": photo.id === this.shownId ? "true" : null, onclick: () => this.choose(photo.id) },
          el("img", { src: server.picture(photo.id, 160), alt: "", width: 72, height: 48 }),
          el("span", {}, el("strong", {}, photo.name), el("small", {}, state))),
        el("button", { type: "button", class: "quiet", "aria-label": `Take ${photo.name} off the desk`, onclick: () => this.takeOff(photo.id) }, "×"));
    };
    byId("photos").replaceChildren(...[...this.photos.values()].map(item));
    byId("measure-all").hidden = this.photos.size < 2;
    byId("sample-line").hidden = this.photos.size > 0;
    byId("empty").hidden = this.photos.size > 0;
    byId("bench").hidden = this.photos.size === 0;
  }

  get shownPhoto() { return this.photos.get(this.shownId); }

  shown() { this.stage.photo && this.stage.setBox(this.stage.box); }

  choose(id) {
    this.shownId = id;
    const photo = this.shownPhoto;
    this.list();
    byId("band-title").textContent = stem(photo.name);
    this.mending.clear();
    this.stage.show(photo, server.picture(id, LONGEST));
    this.scale.show(photo);
    this.render();
  }

  render() {
    const photo = this.shownPhoto;
    this.mending.show(photo);
    byId("result").hidden = !photo.reply;
    if (photo.reply) {
      this.scale.clearHandles();
      drawMarks(this.stage, photo.reply);
      showResult(byId("result"), photo, this.stage);
      this.mending.take(this.mending.tool);
    } else {
      this.stage.marks.replaceChildren();
      if (photo.settings.way === "points") this.scale.more();
    }
  }

  takeOff(id) {
    attempt(async () => {
      await server.takeOff(id);
      const { name } = this.photos.get(id);
      this.photos.delete(id);
      const next = this.photos.keys().next();
      if (id === this.shownId && !next.done) this.choose(next.value);
      else this.list();
      announce(`${name} is off the desk.`);
      byId("files").focus();
    });
  }

  // What the program is asked for a photo; throws where something is missing.
  asked(photo) {
    const { settings } = photo;
    const empty = JSON.stringify(photo.corrections) === JSON.stringify(none());
    const cloth = settings.shows === "cloth";
    return {
      scale: scaleOf(settings),
      print_bar: ["auto", "sheet"].includes(settings.way) ? settings.bar.trim() || null : null,
      start: settings.start || null,
      state: settings.state || null,
      plan: this.plan.text(),
      units: this.units(),
      part: settings.shows === "part",
      swatch: cloth ? settings.piece.trim() : null,
      hand_count: settings.count.trim() || null,
      corrections: empty || cloth ? null : photo.corrections,
    };
  }

  // One after the other: the last thing asked is what stands.
  measure(photo) {
    this.turn = this.turn.then(async () => {
      const asked = this.asked(photo);
      photo.reply = await server.measure(photo.id, asked);
      photo.reply.plan = asked.plan;
      photo.trouble = "";
    });
    const mine = this.turn;
    this.turn = mine.catch(() => {});
    return mine;
  }

  async measureShown() {
    const photo = this.shownPhoto;
    announce(`Measuring ${photo.name} …`);
    try {
      await this.measure(photo);
    } catch (error) {
      photo.reply = null;
      photo.trouble = error.message;
      this.list();
      if (photo === this.shownPhoto) this.render();
      complain(error);
      return;
    }
    this.last = { ...photo.settings };
    this.list();
    if (photo !== this.shownPhoto) return;
    byId("scale-box").open = false;
    this.render();
    announce(`${photo.name} is measured. ${photo.reply.verdict[0] ?? ""}`);
    this.stage.view.focus({ preventScroll: true });
    byId("band-title").scrollIntoView({ block: "start" });
  }

  async putRight(changed = true) {
    const photo = this.shownPhoto;
    try {
      await this.measure(photo);
    } catch (error) {
      complain(error);
      // What couldn't be is taken back; what stood before still stands.
      const before = changed ? photo.history.pop() : null;
      if (before) photo.corrections = JSON.parse(before);
      if (photo === this.shownPhoto && photo.reply) this.mending.take(this.mending.tool);
      return;
    }
    this.list();
    if (photo !== this.shownPhoto) return;
    drawMarks(this.stage, photo.reply);
    showResult(byId("result"), photo, this.stage);
    this.mending.follow();
    const picks = photo.reply.measurement.picks;
    announce(picks?.count ? `Measured anew: ${picks.count} picks, ${picks.per_inch.value.toFixed(2)} per inch.` : "Measured anew.");
  }

  async measureAll() {
    const all = [...this.photos.values()];
    const failed = [];
    for (const [index, photo] of all.entries()) {
      announce(`Measuring ${index + 1} of ${all.length}: ${photo.name}`);
      if (photo !== this.shownPhoto && !photo.reply && this.shownPhoto.settings.way !== "points") {
        photo.settings = forAnother(this.shownPhoto.settings);
      }
      try {
        await this.measure(photo);
      } catch (error) {
        photo.reply = null;
        photo.trouble = error.message;
        failed.push(`${photo.name}: ${error.message}`);
      }
      this.list();
    }
    this.choose(this.shownId);
    if (failed.length) complain(new Error(failed.join(" · ")));
    else announce(`All ${all.length} photos are measured.`);
  }

  async remeasureShown() {
    const photo = this.shownPhoto;
    if (photo?.reply) await this.putRight(false);
  }

  planChanged() {
    this.list();
    this.remeasureShown();
  }

  measured() {
    return [...this.photos.values()].filter((photo) => photo.reply);
  }
}
