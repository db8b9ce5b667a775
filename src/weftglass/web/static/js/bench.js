// The photograph workbench: one photograph, its outline, its scale, its bare glass, and the answer beside them.

import { Bands } from "./bands.js";
import { Edge } from "./edge.js";
import { ask, announce, Refused, say } from "./letters.js";
import { Live } from "./live.js";
import { Ruler } from "./ruler.js";
import { Axis } from "./shapes.js";
import { draw, Stage } from "./stage.js";
import { Steps } from "./steps.js";

const PARTS = ["polygon", "scale", "bare", "left_out", "base_unseen", "top_unseen"];
const SAVED_WORDS = { polygon: "outline", scale: "scale", bare: "bare glass", left_out: "parts left out", base_unseen: "base", top_unseen: "top" };

const NO_SCALE = { kind: "height", mm: 250, sd_mm: 120 }; // as on the page that works without script

const barOf = ([x1, y1, x2, y2]) => ({ x1, y1, x2, y2 });
const endsOf = ({ x1, y1, x2, y2 }) => [x1, y1, x2, y2];

class Bench {
  constructor(root, state) {
    this.root = root; this.state = state; this.steps = new Steps(); this.queue = Promise.resolve(); this.waiting = 0; this.unsent = null;
    this.status = root.querySelector("#bench-status");
    this.stage = new Stage(root.querySelector("#stage"), state.photo);
    this.stage.claim = (p, event) => this.claim(p, event);
    this.bare = new Bands(this.stage, "bare", "Bare glass", (ranges) => this.change({ bare: ranges }));
    this.leftOut = new Bands(this.stage, "left-out", "Left out", (ranges) => this.change({ left_out: ranges }));
    this.edge = new Edge(this.stage, (polygon) => this.change({ polygon }));
    this.ruler = new Ruler(this.stage, (bar) => this.laid(bar));
    this.frame = draw("rect", { class: "frame", hidden: "" }, this.stage.layer);
    this.live = new Live(root.querySelector("#live"), root.dataset.live);
    this.wire();
    this.show();
    this.use(state.polygon ? (state.scale ? "edge" : "ruler") : "edge");
    if (state.polygon) {
      say(this.status, "What is shown is saved.", "good");
      this.live.refresh();
    } else if (root.dataset.whole === "yes") {
      this.find(null);
    } else {
      say(this.status, "This view is kept as it is; no outline is needed.", "good");
      this.live.refresh();
    }
  }

  wire() {
    const on = (selector, name, act) => this.root.querySelectorAll(selector).forEach((el) => el.addEventListener(name, (event) => act(el, event)));
    on("[data-tool]", "click", (el) => this.use(el.dataset.tool));
    on("[data-act]", "click", (el, event) => { event.preventDefault(); this.act(el.dataset.act); });
    on("form[data-scale]", "submit", (el, event) => { event.preventDefault(); this.typedScale(el); });
    on("form[data-box]", "submit", (el, event) => { event.preventDefault(); this.typedBox(el); });
    on("form[data-range]", "submit", (el, event) => { event.preventDefault(); this.typedRange(el); });
    on("form[data-ends] input", "change", (el) => this.change({ [el.name]: el.checked }));
    this.root.addEventListener("click", (event) => {
      const drop = event.target.closest("[data-drop]");
      if (drop) this.dropRange(drop);
    });
    this.stage.svg.addEventListener("dblclick", (event) => this.edge.insertAt(this.stage.point(event)));
    document.addEventListener("keydown", (event) => this.onKey(event));
    window.addEventListener("beforeunload", (event) => { if (this.waiting) event.preventDefault(); });
  }

  act(name) {
    const acts = {
      nearer: () => this.stage.zoom(1.4), further: () => this.stage.zoom(1 / 1.4), whole: () => this.stage.whole(),
      undo: () => this.undo(), redo: () => this.redo(), find: () => this.find(null),
      frame: () => { this.use("frame"); this.stage.svg.scrollIntoView({ block: "nearest" }); say(this.status, "Drag a box round the piece alone, close to it."); },
      insert: () => this.edge.insertAfter(Math.max(0, this.lastHandle())),
      remove: () => { const which = this.lastHandle(); if (which >= 0) this.edge.remove(which); },
    };
    acts[name]?.();
  }

  /** Buttons take the focus away from a handle, so remember the last one. */
  lastHandle() { return this.handleInHand ?? -1; }

  use(tool) {
    this.tool = tool;
    this.root.dataset.tool = tool;
    this.root.querySelectorAll("[data-tool]").forEach((el) => el.setAttribute("aria-pressed", String(el.dataset.tool === tool)));
    this.root.querySelectorAll("[data-for]").forEach((el) => { el.hidden = el.dataset.for !== tool; });
    this.edge.use(tool === "edge");
    this.ruler.use(tool === "ruler");
    this.bare.use(tool === "bare");
    this.leftOut.use(tool === "left-out");
  }

  claim(p) {
    if (this.tool === "edge") {
      const taken = this.edge.claim(p);
      this.handleInHand = taken ? this.edge.focused : this.handleInHand;
      return this.catchingUp(taken);
    }
    if (this.tool === "ruler") return this.ruler.claim(p);
    if (this.tool === "bare") return this.catchingUp(this.bare.claim(p));
    if (this.tool === "left-out") return this.catchingUp(this.leftOut.claim(p));
    return this.tool === "frame" ? this.claimFrame(p) : null;
  }

  /** A drag during which something else was saved shows that once it is over. */
  catchingUp(taken) {
    if (!taken) return null;
    const { version } = this.state;
    const then = (act) => (...now) => { act(...now); if (this.state.version !== version) this.showDrawn(); };
    return { ...taken, end: then(taken.end), cancel: then(taken.cancel) };
  }

  claimFrame(p) {
    const box = (now) => [Math.min(p[0], now[0]), Math.min(p[1], now[1]), Math.max(p[0], now[0]), Math.max(p[1], now[1])];
    const show = ([x0, y0, x1, y1]) => {
      this.frame.removeAttribute("hidden");
      Object.entries({ x: x0, y: y0, width: x1 - x0, height: y1 - y0 }).forEach(([key, value]) => this.frame.setAttribute(key, value));
    };
    const hide = () => this.frame.setAttribute("hidden", "");
    return {
      move: (now) => show(box(now)),
      cancel: hide,
      end: (now) => {
        hide();
        const found = box(now);
        if (found[2] - found[0] > 20 && found[3] - found[1] > 20) this.find(found);
      },
    };
  }

  onKey(event) {
    if (event.target.closest?.("input, textarea, select")) return;
    this.handleInHand = this.edge.focused >= 0 ? this.edge.focused : this.handleInHand;
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
    event.preventDefault();
    if (event.shiftKey) this.redo(); else this.undo();
  }

  // showing ------------------------------------------------------------------------------------------------------

  show() {
    const { state } = this;
    this.showDrawn();
    this.root.querySelector("#scale-words").textContent = state.words.scale;
    this.root.querySelector("#outline-words").textContent = state.words.outline;
    this.root.querySelector("[data-act=undo]").disabled = !this.steps.canUndo;
    this.root.querySelector("[data-act=redo]").disabled = !this.steps.canRedo;
    this.showWarnings();
    this.root.classList.toggle("unscaled", !state.axis);
  }

  /** What is drawn on the photograph and listed beside it; shown at once, before the collection has answered. */
  showDrawn() {
    const { state } = this;
    const axis = state.axis ? new Axis(state.axis) : null;
    const across = state.polygon && axis
      ? 1.15 * Math.max(...state.polygon.map((p) => Math.abs((p[0] - axis.base[0]) * axis.across[0] + (p[1] - axis.base[1]) * axis.across[1])))
      : 0;
    this.edge.show(state.polygon);
    this.ruler.show(state.scale?.bar ? barOf(state.scale.bar) : this.ruler.bar);
    this.bare.show(state.bare, axis, across);
    this.leftOut.show(state.left_out, axis, across);
    for (const kind of ["bare", "left_out"]) this.showRanges(kind);
    this.root.querySelectorAll("form[data-ends] input[type=checkbox]").forEach((el) => { el.checked = state[el.name]; });
  }

  /** Save at once what keys have moved but a short pause still holds back, so that it cannot undo what comes next. */
  finish() {
    for (const tool of [this.edge, this.ruler, this.bare, this.leftOut]) tool.finish();
  }

  showWarnings() {
    const list = this.root.querySelector("#bench-warnings");
    list.replaceChildren(...this.state.warnings.map((sentence) => Object.assign(document.createElement("li"), { textContent: sentence })));
    list.hidden = !this.state.warnings.length;
    const fresh = this.state.warnings.filter((sentence) => this.told && !this.told.includes(sentence));
    if (fresh.length) announce(fresh.join(" "));
    this.told = this.state.warnings;
    this.fresh = fresh.length;
    this.root.querySelector("#compared").hidden = !this.state.doubted;
  }

  /** On a phone what is doubtful stands below the photograph: the line above it leads there. */
  pointToDoubts() {
    if (!this.fresh) return;
    const words = this.fresh === 1 ? "One new doubt" : `${this.fresh} new doubts`;
    this.status.append(" ", Object.assign(document.createElement("a"), { href: "#bench-warnings", textContent: words }));
  }

  showRanges(kind) {
    const list = this.root.querySelector(`#${kind.replace("_", "-")}-list`);
    const ranges = this.state[kind];
    while (list.childElementCount > ranges.length) list.lastElementChild.remove();
    while (list.childElementCount < ranges.length) list.append(this.makeRange(kind, list.childElementCount));
    ranges.forEach(([low, high], k) => {
      const words = `${low.toFixed(0)} to ${high.toFixed(0)} mm`;
      const [said, drop] = list.children[k].children;
      said.textContent = words;
      drop.setAttribute("aria-label", `Take away ${words}`);
    });
  }

  /** A line of the list; it stays the same element when its numbers change, so that a press on it is not lost. */
  makeRange(kind, k) {
    const item = document.createElement("li");
    const drop = Object.assign(document.createElement("button"), { type: "button", className: "plain", textContent: "take away" });
    drop.dataset.drop = kind; drop.dataset.which = k;
    item.append(document.createElement("span"), " ", drop);
    return item;
  }

  // changing -----------------------------------------------------------------------------------------------------

  laid(bar) {
    this.bar = bar;
    const typed = this.root.querySelector("#bar-mm");
    const mm = Number(typed.value.replace(",", "."));
    if (mm > 0) this.change({ scale: { kind: "bar", bar: endsOf(bar), mm } });
    else { typed.focus(); say(this.status, "Now type how many millimetres of the ruler the bar covers."); }
  }

  typedScale(form) {
    if (form.dataset.scale === "guess") { this.change({ scale: NO_SCALE }); return; }
    const mm = Number(form.elements.mm.value.replace(",", "."));
    if (!(mm > 0)) { say(this.status, "The length should be a number above 0, in mm.", "bad"); form.elements.mm.focus(); return; }
    if (form.dataset.scale === "height") { this.change({ scale: { kind: "height", mm } }); return; }
    const bar = this.bar ?? this.ruler.bar;
    if (!bar) { say(this.status, "First drag along the ruler in the photograph.", "bad"); return; }
    this.change({ scale: { kind: "bar", bar: endsOf(bar), mm } });
  }

  typedRange(form) {
    const kind = form.dataset.range;
    const ends = [form.elements.low.value, form.elements.high.value].map((text) => Number(text.replace(",", ".")));
    if (!ends.every(Number.isFinite) || ends[0] === ends[1]) { say(this.status, "Type two different heights in mm.", "bad"); return; }
    this.finish();
    this.change({ [kind]: [...this.state[kind], [Math.min(...ends), Math.max(...ends)]] });
    form.reset();
  }

  typedBox(form) {
    const { width, height } = this.state.photo;
    const [left, right, top, bottom] = ["left", "right", "top", "bottom"].map((name) => form.elements[name].value.trim().replace(",", "."));
    const sides = [left, top, right, bottom].map((text) => (text === "" ? NaN : Number(text) / 100));
    if (!sides.every((share) => share >= 0 && share <= 1) || sides[0] >= sides[2] || sides[1] >= sides[3]) {
      say(this.status, "Type four numbers from 0 to 100, in per cent of the photograph: left before right, top before bottom.", "bad");
      return;
    }
    this.find(sides.map((share, k) => share * ((k % 2 ? height : width) - 1)));
  }

  dropRange(el) {
    const kind = el.dataset.drop;
    this.finish();
    this.change({ [kind]: this.state[kind].filter((_, k) => k !== Number(el.dataset.which)) });
  }

  change(after) {
    const before = Object.fromEntries(Object.keys(after).map((part) => [part, this.state[part]]));
    this.steps.add({ before, after });
    this.save(after);
  }

  undo() { this.finish(); if (this.steps.canUndo) this.save(this.steps.undo().before, "Undone. "); }

  redo() { this.finish(); if (this.steps.canRedo) this.save(this.steps.redo().after, "Done again. "); }

  /**
   * Saves wait for one another, so that each carries the version the last one made. One that still waits is overtaken by
   * a later one of the same parts, so that a handle moved ten times in a second is measured twice.
   */
  save(parts, prefix = "") {
    const words = Object.keys(parts).map((part) => SAVED_WORDS[part]).join(", ");
    Object.assign(this.state, parts);
    this.showDrawn();
    say(this.status, `${prefix}Saving the ${words} …`);
    if (this.unsent?.words === words) { Object.assign(this.unsent, { parts, prefix }); return this.queue; }
    const save = this.unsent = { words, parts, prefix };
    this.waiting += 1;
    this.queue = this.queue.then(async () => {
      if (this.unsent === save) this.unsent = null;
      try {
        const state = await ask(this.root.dataset.state, { version: this.state.version, ...save.parts });
        this.take(state);
        say(this.status, `${save.prefix}Saved: ${words}. ${state.words.changed}`.trim(), "good");
        this.pointToDoubts();
        if (this.waiting <= 1) this.live.refresh();
      } catch (fault) {
        await this.failed(fault);
      } finally {
        this.waiting -= 1;
      }
    });
    return this.queue;
  }

  /** Take what the collection now holds, but not what a later change still waiting here will replace. */
  take(state) {
    this.fresh = 0;
    const local = this.waiting > 1 ? Object.fromEntries(PARTS.map((part) => [part, this.state[part]])) : {};
    this.state = { ...state, ...local };
    if (this.waiting <= 1) this.show();
  }

  async failed(fault) {
    if (!(fault instanceof Refused)) throw fault;
    say(this.status, fault.message, "bad");
    announce(fault.message);
    const state = await ask(this.root.dataset.state).catch(() => null);
    if (state) { this.state = state; this.show(); }
  }

  /** Find the outline again, in a box or anywhere; the page tells that it is at work. */
  find(box) {
    const before = { polygon: this.state.polygon };
    const tool = this.tool;
    this.root.classList.add("seeking");
    this.status.classList.add("busy");
    say(this.status, "Finding the edge of the piece");
    this.waiting += 1;
    this.unsent = null; // what is changed from now on comes after what is found
    this.queue = this.queue.then(async () => {
      try {
        const state = await ask(this.root.dataset.find, { version: this.state.version, box });
        if (before.polygon) this.steps.add({ before, after: { polygon: state.polygon } });
        this.take(state);
        if (this.tool === tool) this.use(this.state.scale ? "edge" : "ruler");
        const next = this.state.scale ? "" : " Next: drag along the ruler.";
        if (this.state.doubted) say(this.status, `An outline is saved, but it is doubtful: compare it with the photograph.${next}`);
        else say(this.status, `The outline stands and is saved.${next}`, "good");
        this.pointToDoubts();
        announce("The outline was found.");
        this.live.refresh();
      } catch (fault) {
        await this.failed(fault);
      } finally {
        this.waiting -= 1;
        this.root.classList.remove("seeking");
        this.status.classList.remove("busy");
      }
    });
    return this.queue;
  }
}

const root = document.querySelector("[data-bench]");
if (root) {
  ask(root.dataset.state)
    .then((state) => { root.bench = new Bench(root, state); root.dataset.ready = "yes"; })
    .catch((fault) => say(root.querySelector("#bench-status"), fault.message, "bad"));
}
