// Height ranges along the piece, drawn as bands across it: bare glass, or parts to leave out.

import { draw } from "./stage.js";

const REACH = 18;
const LEAST_MM = 2;

/** Ranges sorted, joined where they touch. */
export function joined(ranges) {
  const sorted = ranges.map(([a, b]) => [Math.min(a, b), Math.max(a, b)]).sort((p, q) => p[0] - q[0]);
  const found = [];
  for (const [low, high] of sorted) {
    const last = found.at(-1);
    if (last && low <= last[1]) last[1] = Math.max(last[1], high);
    else found.push([low, high]);
  }
  return found;
}

export class Bands {
  /** @param kind "bare" | "left-out", @param words what a band is called, @param changed called with the ranges */
  constructor(stage, kind, words, changed) {
    this.stage = stage; this.words = words; this.changed = changed;
    this.ranges = []; this.axis = null; this.active = false; this.dragging = false; this.pause = undefined;
    this.layer = draw("g", { class: `bands ${kind}` }, stage.layer);
    stage.addEventListener("view", () => this.redraw());
  }

  /**
   * What is saved, unless a change that is not saved yet is in hand: that is not taken away from under the hand.
   * @param axis Axis or null while the piece has no heights yet; @param across half-width of the bands in pixels
   */
  show(ranges, axis, across) {
    this.axis = axis; this.across = across;
    if (!this.inHand) this.ranges = ranges.map(([a, b]) => [a, b]);
    this.redraw();
  }

  /** Whether a drag or a run of keys is under way. */
  get inHand() { return this.dragging || this.pause !== undefined; }

  /** Save at once what keys have moved. */
  finish() {
    if (this.pause === undefined) return;
    clearTimeout(this.pause);
    this.pause = undefined;
    this.settle(null);
  }

  use(active) { this.active = active; this.redraw(); }

  redraw() {
    const focused = [...this.layer.querySelectorAll(".brim")].indexOf(document.activeElement);
    this.layer.replaceChildren();
    this.layer.classList.toggle("quiet", !this.active);
    if (!this.axis) return;
    this.ranges.forEach(([low, high], k) => {
      const corners = [this.axis.at(low, -this.across), this.axis.at(low, this.across), this.axis.at(high, this.across), this.axis.at(high, -this.across)];
      draw("path", { class: "band", d: `M${corners.map((p) => p.join(" ")).join("L")}Z` }, this.layer);
      if (this.active) [0, 1].forEach((side) => this.drawBrim(k, side));
    });
    if (focused >= 0) this.layer.querySelectorAll(".brim")[focused]?.focus();
  }

  drawBrim(k, side) {
    const z = this.ranges[k][side];
    const [a, b] = [this.axis.at(z, -this.across), this.axis.at(z, this.across)];
    const brim = draw("g", {
      class: "brim", tabindex: 0, role: "slider", "aria-orientation": "vertical", "aria-valuemin": 0,
      "aria-valuemax": Math.round(this.axis.height), "aria-valuenow": Math.round(z), "aria-valuetext": `${z.toFixed(0)} mm`,
      "aria-label": `${this.words} ${k + 1}, ${side ? "upper" : "lower"} limit`,
    }, this.layer);
    draw("path", { class: "brim-line", d: `M${a.join(" ")}L${b.join(" ")}` }, brim);
    const knob = draw("g", { transform: `translate(${b[0]} ${b[1]}) scale(${this.stage.grain})` }, brim);
    draw("circle", { class: "reach", r: REACH }, knob);
    draw("path", { class: "grip", d: "M0 0l9 -7v14z" }, knob);
    brim.addEventListener("keydown", (event) => this.onKey(event, k, side));
  }

  /** Takes any pointer while marking: near a brim it moves it, elsewhere it draws a new range. */
  claim(p) {
    if (!this.active || !this.axis) return null;
    const before = this.ranges.map((r) => [...r]);
    const z = this.axis.heightOf(p), reach = REACH * this.stage.grain * this.axis.mmPerPx;
    let found = null;
    this.ranges.forEach((range, k) => range.forEach((limit, side) => {
      const far = Math.abs(limit - z);
      if (far < reach && (!found || far < found.far)) found = { k, side, far };
    }));
    if (!found) { this.ranges.push([z, z]); found = { k: this.ranges.length - 1, side: 1 }; }
    this.dragging = true;
    return {
      move: (now) => { this.ranges[found.k][found.side] = this.axis.heightOf(now); this.redraw(); },
      end: () => { this.dragging = false; this.settle(before); },
      cancel: () => { this.dragging = false; this.ranges = before; this.redraw(); },
    };
  }

  settle(before) {
    this.ranges = joined(this.ranges).filter(([low, high]) => high - low >= LEAST_MM);
    this.redraw();
    if (JSON.stringify(this.ranges) !== JSON.stringify(before)) this.changed(this.ranges);
  }

  onKey(event, k, side) {
    const step = event.shiftKey ? 10 : 1;
    const way = { ArrowUp: step, ArrowRight: step, ArrowDown: -step, ArrowLeft: -step, PageUp: 10, PageDown: -10 }[event.key];
    if (event.key === "Delete" || event.key === "Backspace") {
      clearTimeout(this.pause);
      this.pause = undefined;
      this.ranges.splice(k, 1);
      this.redraw();
      this.changed(this.ranges);
    } else if (way) {
      this.ranges[k][side] = Math.min(this.axis.height, Math.max(0, this.ranges[k][side] + way));
      this.redraw();
      clearTimeout(this.pause);
      this.pause = setTimeout(() => this.finish(), 600);
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }
}
