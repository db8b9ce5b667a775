// The map of a condition record: a press on a face fills the form, and the form shows where it points.

import { announce } from "./letters.js";
import { draw } from "./stage.js";

const PLANS = ["top", "base"];
const AIR = 14;

class Map {
  constructor(form, faces) {
    this.form = form; this.faces = faces;
    this.wholeMm = Number(form.dataset.heightMm) || 100;
    faces.dataset.markReady = "yes";
    faces.querySelectorAll("[data-face] svg").forEach((svg) => svg.addEventListener("click", (event) => this.press(svg, event)));
    for (const name of ["face", "height", "across"]) form.elements[name].addEventListener("input", () => this.aim());
  }

  get face() { return this.form.elements.face.value; }

  whole(face) { return PLANS.includes(face) ? 100 : this.wholeMm; }

  svgOf(face) { return this.faces.querySelector(`[data-face="${face}"] svg`); }

  /** Half-width of the drawn piece at a height of the drawing, found on the drawing itself. */
  halfWidth(svg, y) {
    const body = svg.querySelector(".body");
    const { width } = svg.viewBox.baseVal;
    const inside = (x) => body.isPointInFill(Object.assign(svg.createSVGPoint(), { x, y }));
    let low = 0, high = width / 2;
    if (!inside(0)) return 0;
    for (let k = 0; k < 20; k += 1) { const middle = (low + high) / 2; if (inside(middle)) low = middle; else high = middle; }
    return low;
  }

  press(svg, event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const face = svg.closest("[data-face]").dataset.face;
    const tall = svg.viewBox.baseVal.height - 2 * AIR;
    const y = Math.min(-0.5, Math.max(0.5 - tall, p.y));
    const plan = PLANS.includes(face);
    const half = plan ? svg.viewBox.baseVal.width / 2 - AIR : this.halfWidth(svg, y);
    const share = Math.min(1, Math.max(0, -y / tall));
    const up = face === "base" ? 1 - share : share;
    const { elements } = this.form;
    elements.face.value = face;
    elements.height.value = (up * this.whole(face)).toFixed(0);
    elements.across.value = half > 0 ? Math.round(100 * Math.min(1, Math.max(-1, p.x / half))) : 0;
    this.aim();
    announce(`${face}, ${elements.height.value} up; now say what it is and how large.`);
    this.form.scrollIntoView({ block: "nearest" });
    elements.size_mm.focus({ preventScroll: true });
  }

  /** A cross where the form points. */
  aim() {
    this.faces.querySelectorAll(".aim").forEach((old) => old.remove());
    const svg = this.svgOf(this.face), { elements } = this.form;
    const typed = Number(elements.height.value.replace(",", "."));
    if (!svg || elements.height.value === "" || !(typed >= 0)) return;
    const tall = svg.viewBox.baseVal.height - 2 * AIR;
    const up = Math.min(1, typed / this.whole(this.face));
    const y = -(this.face === "base" ? 1 - up : up) * tall;
    const half = PLANS.includes(this.face) ? svg.viewBox.baseVal.width / 2 - AIR : this.halfWidth(svg, Math.min(-0.5, Math.max(0.5 - tall, y)));
    const x = half * Number(elements.across.value) / 100;
    draw("path", { class: "aim", d: `M${x - 9} ${y}H${x - 2}M${x + 2} ${y}H${x + 9}M${x} ${y - 9}V${y - 2}M${x} ${y + 2}V${y + 9}` }, svg);
  }
}

const form = document.querySelector("[data-mark]");
const faces = document.querySelector("[data-faces]");
if (form && faces) new Map(form, faces).aim();
