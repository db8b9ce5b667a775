// The measuring bar laid along a ruler in the photograph: two ends to drag and a length to type.

import { distance } from "./shapes.js";
import { draw, ONE_MOVE_MS } from "./stage.js";

const REACH = 24;

export class Ruler {
  /** @param changed called with {x1, y1, x2, y2} when the bar was laid or moved */
  constructor(stage, changed) {
    this.stage = stage; this.changed = changed; this.bar = null; this.active = false; this.dragging = false; this.pause = undefined;
    this.layer = draw("g", { class: "ruler" }, stage.layer);
    this.under = draw("path", { class: "ruler-under" }, this.layer);
    this.line = draw("path", { class: "ruler-line" }, this.layer);
    this.ends = [1, 2].map((end) => {
      const knob = draw("g", { class: "ruler-end", role: "button", tabindex: 0 }, this.layer);
      draw("circle", { class: "reach", r: REACH }, knob);
      draw("path", { class: "cross", d: "M-11 0H-3M3 0H11M0 -11V-3M0 3V11" }, knob);
      draw("circle", { class: "ring", r: 8 }, knob);
      knob.addEventListener("keydown", (event) => this.onKey(event, end));
      return knob;
    });
    stage.addEventListener("view", () => this.place());
    this.place();
  }

  /** What is saved, unless a change that is not saved yet is in hand. */
  show(bar) {
    if (!this.inHand) this.bar = bar;
    this.place();
  }

  /** Whether a drag or a run of keys is under way. */
  get inHand() { return this.dragging || this.pause !== undefined; }

  /** Save at once what keys have moved. */
  finish() {
    if (this.pause === undefined) return;
    clearTimeout(this.pause);
    this.pause = undefined;
    this.changed(this.bar);
  }

  use(active) { this.active = active; this.place(); }

  place() {
    this.layer.toggleAttribute("hidden", !this.bar);
    this.layer.classList.toggle("quiet", !this.active);
    if (!this.bar) return;
    const { x1, y1, x2, y2 } = this.bar;
    for (const path of [this.under, this.line]) path.setAttribute("d", `M${x1} ${y1}L${x2} ${y2}`);
    const long = distance([x1, y1], [x2, y2]);
    this.ends.forEach((knob, k) => {
      const [x, y] = k ? [x2, y2] : [x1, y1];
      knob.setAttribute("transform", `translate(${x} ${y}) scale(${this.stage.grain})`);
      knob.setAttribute("tabindex", this.active ? 0 : -1);
      knob.setAttribute("aria-label", `${k ? "Second" : "First"} end of the measuring bar, ${Math.round(x)} across, ${Math.round(y)} down; bar ${Math.round(long)} pixels long`);
    });
  }

  /** Takes any pointer while the ruler is in hand: on an end it moves it, elsewhere it lays a new bar. */
  claim(p) {
    if (!this.active) return null;
    const before = this.bar;
    let end = 2;
    if (before) {
      const reach = REACH * this.stage.grain;
      const far = [distance(p, [before.x1, before.y1]), distance(p, [before.x2, before.y2])];
      if (Math.min(...far) < reach) end = far[0] < far[1] ? 1 : 2;
      else this.bar = null;
    }
    if (!this.bar) this.bar = { x1: p[0], y1: p[1], x2: p[0], y2: p[1] };
    this.dragging = true;
    return {
      move: (now) => { this.bar = { ...this.bar, [`x${end}`]: now[0], [`y${end}`]: now[1] }; this.place(); },
      end: () => {
        this.dragging = false;
        const long = distance([this.bar.x1, this.bar.y1], [this.bar.x2, this.bar.y2]);
        if (long < 8 * this.stage.grain) { this.bar = before; this.place(); } else this.changed(this.bar);
      },
      cancel: () => { this.dragging = false; this.bar = before; this.place(); },
    };
  }

  onKey(event, end) {
    const step = (event.shiftKey ? 10 : 1) * Math.max(1, this.stage.grain);
    const ways = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    event.stopPropagation();
    this.bar = { ...this.bar, [`x${end}`]: this.bar[`x${end}`] + way[0], [`y${end}`]: this.bar[`y${end}`] + way[1] };
    this.place();
    clearTimeout(this.pause);
    this.pause = setTimeout(() => this.finish(), ONE_MOVE_MS);
  }
}
