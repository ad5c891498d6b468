// The photo with what was found drawn over it: zoomed and moved with mouse, touch and keys.
//
// Everything inside is in pixels of the photo, their centres at whole numbers, as the program counts.

import { el, svg } from "./elements.js";

const LENS_PX = 28; // how much of the photo the magnifier shows, px
const CLOSEST = 24; // screen pixels a photo pixel takes at most

export class Stage {
  constructor(host) {
    this.host = host;
    this.scaled = new Set();
    this.image = svg("image", { x: -0.5, y: -0.5, preserveAspectRatio: "none" });
    this.marks = svg("g", { class: "marks" });
    this.lines = svg("g", { class: "lines" });
    this.handles = svg("g", {});
    this.view = svg("svg", {
      class: "view", tabindex: 0, role: "group",
      "aria-label": "The photo. Plus and minus zoom, arrows move it, 0 shows it whole.",
    }, this.image, this.marks, this.lines, this.handles);
    this.lensImage = svg("image", { x: -0.5, y: -0.5, preserveAspectRatio: "none" });
    this.lens = svg("svg", { class: "lens", "aria-hidden": "true" }, this.lensImage,
      svg("path", { class: "aim" }));
    const button = (label, text, press) =>
      el("button", { type: "button", "aria-label": label, title: label, onclick: press }, text);
    host.replaceChildren(this.view, this.lens, el("div", { class: "zoom" },
      button("Zoom in", "+", () => this.zoom(1.5)),
      button("Zoom out", "−", () => this.zoom(1 / 1.5)),
      button("Show the whole photo", "whole", () => this.whole())));
    this.listen();
  }

  show(photo, address) {
    this.photo = photo;
    for (const image of [this.image, this.lensImage]) {
      image.setAttribute("href", address);
      image.setAttribute("width", photo.width);
      image.setAttribute("height", photo.height);
    }
    this.view.setAttribute("data-photo", photo.id);
    this.host.style.setProperty("--shape", `${photo.width} / ${photo.height}`);
    this.marks.replaceChildren();
    this.lines.replaceChildren();
    this.magnify(null);
    this.whole();
  }

  // Photo pixels that a screen pixel takes.
  unit() {
    const matrix = this.view.getScreenCTM();
    return matrix && matrix.a > 0 ? 1 / matrix.a : 1;
  }

  toPhoto(event) {
    const matrix = this.view.getScreenCTM();
    if (!matrix) return { x: 0, y: 0 };
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    return { x: point.x, y: point.y };
  }

  whole() {
    if (!this.photo) return;
    const { width, height } = this.photo;
    this.setBox({ x: -0.5, y: -0.5, width, height });
  }

  setBox(box) {
    this.box = box;
    this.view.setAttribute("viewBox", `${box.x} ${box.y} ${box.width} ${box.height}`);
    const whole = box.width >= this.photo.width * 0.999;
    this.view.classList.toggle("close", !whole);
    const unit = this.unit();
    this.view.style.setProperty("--letters", `${12 * unit}px`);
    for (const thing of this.scaled) thing.rescale();
  }

  zoom(factor, about) {
    const { box, photo } = this;
    if (!photo) return;
    const shown = 1 / this.unit();
    const closer = Math.min(factor, CLOSEST / shown);
    const width = Math.min(box.width / closer, photo.width);
    const height = width * box.height / box.width;
    const middle = about ?? { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    const share = { x: (middle.x - box.x) / box.width, y: (middle.y - box.y) / box.height };
    this.setBox(this.inside({
      x: middle.x - share.x * width, y: middle.y - share.y * height, width, height,
    }));
  }

  move(dx, dy) {
    this.setBox(this.inside({ ...this.box, x: this.box.x + dx, y: this.box.y + dy }));
  }

  inside(box) {
    const keep = (from, length, all) =>
      Math.max(-0.5, Math.min(from, all - 0.5 - length));
    return {
      ...box,
      x: keep(box.x, box.width, this.photo.width),
      y: keep(box.y, box.height, this.photo.height),
    };
  }

  keepInView(point) {
    const { box } = this;
    const inside = point.x > box.x && point.x < box.x + box.width &&
      point.y > box.y && point.y < box.y + box.height;
    if (!inside) this.setBox(this.inside({ ...box, x: point.x - box.width / 2, y: point.y - box.height / 2 }));
  }

  // Shows a stretch of the photo around two points.
  lookAt(a, b) {
    const reach = Math.max(Math.abs(a.x - b.x), Math.abs(a.y - b.y), this.photo.width / 12);
    this.whole();
    this.zoom(this.photo.width / (reach * 2.2), { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
    const middle = { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
    this.setBox(this.inside({
      ...this.box, x: middle.x - this.box.width / 2, y: middle.y - this.box.height / 2,
    }));
  }

  magnify(point) {
    this.lens.classList.toggle("on", Boolean(point));
    if (!point) return;
    const half = LENS_PX / 2;
    this.lens.setAttribute("viewBox", `${point.x - half} ${point.y - half} ${LENS_PX} ${LENS_PX}`);
    this.lens.lastChild.setAttribute("d",
      `M${point.x - half} ${point.y}h${half - 1.5}m3 0h${half - 1.5}M${point.x} ${point.y - half}v${half - 1.5}m0 3v${half - 1.5}`);
    const left = point.x < this.box.x + this.box.width / 2;
    this.lens.classList.toggle("right", left);
  }

  listen() {
    const { view } = this;
    const fingers = new Map();
    let pressed = null;
    view.addEventListener("wheel", (event) => {
      if (!this.photo || !(event.ctrlKey || document.activeElement === view || view.classList.contains("close"))) return;
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / 400), this.toPhoto(event));
    }, { passive: false });
    view.addEventListener("pointerdown", (event) => {
      if (!this.photo || event.button > 0) return;
      fingers.set(event.pointerId, event);
      view.setPointerCapture(event.pointerId);
      pressed = fingers.size === 1 ? { x: event.clientX, y: event.clientY, moved: false } : null;
    });
    view.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) {
        if (this.aiming && this.photo) this.magnify(this.toPhoto(event));
        return;
      }
      if (fingers.size === 2) this.pinch(fingers, event);
      else if (pressed) {
        pressed.moved ||= Math.hypot(event.clientX - pressed.x, event.clientY - pressed.y) > 5;
        if (pressed.moved) {
          const unit = this.unit();
          this.move((before.clientX - event.clientX) * unit, (before.clientY - event.clientY) * unit);
        }
      }
      fingers.set(event.pointerId, event);
    });
    const lift = (event) => {
      fingers.delete(event.pointerId);
      const clicked = event.type === "pointerup" && pressed && !pressed.moved;
      pressed = null;
      if (clicked) this.onplace?.(this.toPhoto(event));
    };
    view.addEventListener("pointerup", lift);
    view.addEventListener("pointercancel", lift);
    view.addEventListener("pointerleave", () => {
      if (this.aiming) this.magnify(null);
    });
    view.addEventListener("keydown", (event) => this.key(event));
    new ResizeObserver(() => this.photo && this.setBox(this.box)).observe(view);
  }

  pinch(fingers, event) {
    const [a, b] = [...fingers.values()];
    const other = a.pointerId === event.pointerId ? b : a;
    const before = fingers.get(event.pointerId);
    const far = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
    const middle = {
      clientX: (event.clientX + other.clientX) / 2,
      clientY: (event.clientY + other.clientY) / 2,
    };
    this.zoom(far(event) / Math.max(far(before), 1), this.toPhoto(middle));
  }

  key(event) {
    if (event.target !== this.view || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = 0.15 * this.box?.width;
    const does = {
      "+": () => this.zoom(1.5), "=": () => this.zoom(1.5), "-": () => this.zoom(1 / 1.5),
      0: () => this.whole(),
      ArrowLeft: () => this.move(-step, 0), ArrowRight: () => this.move(step, 0),
      ArrowUp: () => this.move(0, -step), ArrowDown: () => this.move(0, step),
    }[event.key];
    if (!this.photo || !does) return;
    event.preventDefault();
    does();
  }
}
