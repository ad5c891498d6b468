// Something on the photo that can be moved by mouse, finger and keys.

import { svg } from "./elements.js";

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export class Handle {
  // `options`: label, kind (a class), at (point), moved(point), nudged(dx, dy, large), done(), text()
  constructor(stage, options) {
    this.stage = stage;
    this.options = options;
    this.group = svg("g", {
      class: `handle ${options.kind ?? ""}`,
      tabindex: 0,
      role: "slider",
      "aria-label": options.label,
      "aria-valuemin": 0,
      "aria-valuemax": 100000,
      "aria-valuenow": 0,
    }, svg("circle", { class: "reach", r: 20 }), svg("circle", { class: "ring", r: 9 }),
      svg("path", { class: "cross", d: "M-4 0H4M0 -4V4" }));
    this.group.addEventListener("pointerdown", (event) => this.grab(event));
    this.group.addEventListener("keydown", (event) => this.key(event));
    this.group.addEventListener("focus", () => this.stage.magnify(this.at));
    this.group.addEventListener("blur", () => this.stage.magnify(null));
    stage.handles.append(this.group);
    stage.scaled.add(this);
    this.put(options.at);
  }

  put(at) {
    this.at = at;
    this.rescale();
    this.group.setAttribute("aria-valuenow", Math.round(this.options.value?.() ?? at.x));
    this.group.setAttribute("aria-valuetext", this.options.text());
  }

  rescale() {
    const unit = this.stage.unit();
    this.group.setAttribute("transform", `translate(${this.at.x} ${this.at.y}) scale(${unit})`);
  }

  grab(event) {
    if (event.button > 0) return;
    event.preventDefault();
    event.stopPropagation();
    this.group.focus();
    this.group.setPointerCapture(event.pointerId);
    const start = this.stage.toPhoto(event);
    const offset = { x: this.at.x - start.x, y: this.at.y - start.y };
    const move = (moving) => {
      const point = this.stage.toPhoto(moving);
      this.options.moved({ x: point.x + offset.x, y: point.y + offset.y });
      this.stage.magnify(this.at);
    };
    const drop = () => {
      this.group.removeEventListener("pointermove", move);
      this.group.removeEventListener("pointerup", drop);
      this.group.removeEventListener("pointercancel", drop);
      this.options.done?.();
    };
    this.group.addEventListener("pointermove", move);
    this.group.addEventListener("pointerup", drop);
    this.group.addEventListener("pointercancel", drop);
  }

  key(event) {
    const step = ARROWS[event.key];
    if (!step || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.options.nudged(step[0], step[1], event.shiftKey);
    this.stage.keepInView(this.at);
    this.stage.magnify(this.at);
    this.options.done?.();
  }

  remove() {
    this.stage.scaled.delete(this);
    this.group.remove();
    this.stage.magnify(null);
  }
}
