// The outline on the photograph and its handles: drag, insert, delete; keyboard moves them by one or ten pixels.

import { dragged, handleCorners, nearestSide, withHandle, withoutHandle } from "./shapes.js";
import { draw, ONE_MOVE_MS } from "./stage.js";

const REACH = 22; // screen pixels: half of a comfortable touch target
const ROUNDED = 0.02; // photograph pixels: as a saved line comes back

const same = (one, other) => one?.length === other?.length && (one ?? []).every(([x, y], k) => Math.abs(x - other[k][0]) < ROUNDED && Math.abs(y - other[k][1]) < ROUNDED);

export class Edge {
  /** @param stage Stage, @param changed called with the new polygon when a change is finished */
  constructor(stage, changed) {
    this.stage = stage; this.changed = changed; this.polygon = null; this.handles = []; this.active = false; this.dragging = false; this.pause = undefined;
    this.layer = draw("g", { class: "edge" }, stage.layer);
    this.shadow = draw("path", { class: "edge-under" }, this.layer);
    this.line = draw("path", { class: "edge-line" }, this.layer);
    this.dots = draw("g", { class: "handles" }, this.layer);
    stage.addEventListener("view", () => this.place());
  }

  /** What is saved, unless a change that is not saved yet is in hand. A line that stands as it is keeps its handles. */
  show(polygon) {
    if (this.inHand && this.polygon) return;
    if (!same(polygon, this.polygon)) this.handles = polygon ? handleCorners(polygon, this.most) : [];
    this.polygon = polygon;
    this.redraw();
  }

  /** Whether a drag or a run of keys is under way. */
  get inHand() { return this.dragging || this.pause !== undefined; }

  /** Save at once what keys have moved. */
  finish() {
    if (this.pause === undefined) return;
    clearTimeout(this.pause);
    this.pause = undefined;
    this.changed(this.polygon);
  }

  /** How many handles have room on the stage. */
  get most() { return Math.max(16, Math.min(36, Math.round(this.stage.svg.clientHeight / 18))); }

  use(active) {
    this.active = active;
    this.redraw();
  }

  redraw(focus = -1) {
    const path = this.polygon?.length ? `M${this.polygon.map((p) => `${p[0].toFixed(1)} ${p[1].toFixed(1)}`).join("L")}Z` : "";
    this.line.setAttribute("d", path);
    this.shadow.setAttribute("d", path);
    const wanted = this.active ? this.handles.length : 0;
    while (this.dots.childElementCount > wanted) this.dots.lastElementChild.remove();
    while (this.dots.childElementCount < wanted) this.dots.append(this.makeDot());
    this.place();
    if (focus >= 0) this.dots.children[focus]?.focus();
  }

  makeDot() {
    const dot = draw("g", { class: "handle", tabindex: 0, role: "button" });
    draw("circle", { class: "reach", r: REACH }, dot);
    draw("circle", { class: "dot", r: 6 }, dot);
    dot.addEventListener("keydown", (event) => this.onKey(event, [...this.dots.children].indexOf(dot)));
    dot.addEventListener("focus", () => {
      const which = [...this.dots.children].indexOf(dot);
      if (dot.matches(":focus-visible")) this.stage.reveal(this.polygon[this.handles[which]]);
    });
    return dot;
  }

  place() {
    const grain = this.stage.grain;
    [...this.dots.children].forEach((dot, k) => {
      const [x, y] = this.polygon[this.handles[k]];
      dot.setAttribute("transform", `translate(${x} ${y}) scale(${grain})`);
      dot.setAttribute("aria-label", `Handle ${k + 1} of ${this.handles.length}, ${Math.round(x)} across, ${Math.round(y)} down`);
    });
  }

  /** Takes a pointer that lands on or near a handle. */
  claim(p) {
    if (!this.active || !this.polygon) return null;
    let which = -1, far = REACH * this.stage.grain;
    this.handles.forEach((corner, k) => {
      const off = Math.hypot(this.polygon[corner][0] - p[0], this.polygon[corner][1] - p[1]);
      if (off < far) { far = off; which = k; }
    });
    if (which < 0) return null;
    const before = this.polygon;
    this.dots.children[which].focus({ preventScroll: true });
    this.dragging = true;
    return {
      move: (now) => { this.polygon = dragged(before, this.handles, which, [now[0] - p[0], now[1] - p[1]]); this.redraw(); },
      end: () => { this.dragging = false; if (this.polygon !== before) this.changed(this.polygon); },
      cancel: () => { this.dragging = false; this.polygon = before; this.redraw(); },
    };
  }

  /** A new handle on the outline nearest to a point; true when the point was near enough. */
  insertAt(p, reach = REACH) {
    if (!this.active || !this.polygon || nearestSide(this.polygon, p).far > reach * this.stage.grain) return false;
    const { polygon, handles, which } = withHandle(this.polygon, this.handles, p);
    this.polygon = polygon; this.handles = handles;
    this.redraw(which);
    return true;
  }

  insertAfter(which) {
    const next = (which + 1) % this.handles.length;
    const a = this.polygon[this.handles[which]], b = this.polygon[this.handles[next]];
    this.insertAt([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], Infinity);
  }

  remove(which) {
    const { polygon, handles } = withoutHandle(this.polygon, this.handles, which);
    if (handles.length === this.handles.length) return;
    clearTimeout(this.pause);
    this.pause = undefined;
    this.polygon = polygon; this.handles = handles;
    this.redraw(Math.min(which, handles.length - 1));
    this.changed(polygon);
  }

  /** The handle that has the keyboard focus, or -1. */
  get focused() { return [...this.dots.children].indexOf(document.activeElement); }

  onKey(event, which) {
    const step = (event.shiftKey ? 10 : 1) * Math.max(1, this.stage.grain);
    const ways = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (ways[event.key]) {
      this.polygon = dragged(this.polygon, this.handles, which, ways[event.key]);
      this.redraw(which);
      clearTimeout(this.pause);
      this.pause = setTimeout(() => this.finish(), ONE_MOVE_MS);
    } else if (event.key === "Delete" || event.key === "Backspace") {
      this.remove(which);
    } else if (event.key === "Insert" || event.key === "+") {
      this.insertAfter(which);
    } else {
      return;
    }
    event.preventDefault();
    event.stopPropagation();
  }
}
