// Counting on a photograph: a drag gives the scale or the box, taps give a count by hand; the fields say the same.

const NAMESPACE = "http://www.w3.org/2000/svg";

class Drawing {
  constructor(place) {
    this.place = place;
    this.svg = place.querySelector("[data-covering-figure]");
    this.layer = this.svg.querySelector("[data-drawn]");
    this.status = place.querySelector("[data-status]");
    this.count = document.getElementById("count-form");
    this.hand = document.getElementById("hand-form");
    this.tool = "bar";
    place.dataset.coveringReady = "yes";
    place.querySelector("[data-tools]").hidden = false;
    for (const button of place.querySelectorAll("[data-tool]")) button.addEventListener("click", () => this.choose(button.dataset.tool));
    place.querySelector("[data-act=back]").addEventListener("click", () => this.back());
    this.svg.addEventListener("pointerdown", (event) => this.down(event));
    this.svg.addEventListener("pointermove", (event) => this.move(event));
    this.svg.addEventListener("pointerup", () => { this.from = null; });
    this.svg.addEventListener("pointercancel", () => { this.from = null; });
    for (const name of ["bar", "mm", "height"]) this.pair(name);
    for (const form of [this.count, this.hand]) form.addEventListener("input", () => this.show());
    this.show();
  }

  /** Scale and length are the same for both ways of counting. */
  pair(name) {
    const fields = [this.count.elements[name], this.hand.elements[name]];
    fields.forEach((field, i) => field.addEventListener("input", () => { fields[1 - i].value = field.value; }));
  }

  choose(tool) {
    this.tool = tool;
    for (const button of this.place.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === tool));
    const words = { bar: "Drag along the ruler, or from edge to edge of the piece where its height is told below.", box: "Drag over covering only.", taps: "Tap every row up a line, or every stitch along one." };
    this.status.textContent = words[tool];
  }

  at(event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const { width, height } = this.svg.viewBox.baseVal;
    return [Math.min(width, Math.max(0, p.x)), Math.min(height, Math.max(0, p.y))];
  }

  down(event) {
    event.preventDefault();
    const p = this.at(event);
    if (this.tool === "taps") {
      this.set("taps", [...this.numbers(this.hand.elements.taps), ...p], this.hand);
      return;
    }
    this.from = p;
    this.svg.setPointerCapture(event.pointerId);
  }

  move(event) {
    if (!this.from) return;
    this.set(this.tool, [...this.from, ...this.at(event)], this.count);
    if (this.tool === "bar") this.hand.elements.bar.value = this.count.elements.bar.value;
  }

  back() {
    const field = this.tool === "taps" ? this.hand.elements.taps : this.count.elements[this.tool];
    const kept = this.tool === "taps" ? this.numbers(field).slice(0, -2) : [];
    this.set(this.tool, kept, this.tool === "taps" ? this.hand : this.count);
  }

  set(name, numbers, form) {
    form.elements[name].value = numbers.map((v) => v.toFixed(1)).join(", ");
    this.show();
  }

  numbers(field) {
    return field.value.split(/[\s,;]+/).filter(Boolean).map(Number).filter(Number.isFinite);
  }

  show() {
    const parts = [];
    const bar = this.numbers(this.count.elements.bar), box = this.numbers(this.count.elements.box), taps = this.numbers(this.hand.elements.taps);
    if (bar.length === 4) parts.push(shape("line", "drawn-bar", { x1: bar[0], y1: bar[1], x2: bar[2], y2: bar[3] }));
    if (box.length === 4) {
      parts.push(shape("rect", "drawn-box", { x: Math.min(box[0], box[2]), y: Math.min(box[1], box[3]), width: Math.abs(box[2] - box[0]), height: Math.abs(box[3] - box[1]) }));
    }
    const size = this.svg.viewBox.baseVal.width / 150;
    for (let i = 0; i + 1 < taps.length; i += 2) parts.push(shape("circle", "drawn-tap", { cx: taps[i], cy: taps[i + 1], r: size }));
    this.layer.replaceChildren(...parts);
    this.handWords(taps, bar);
  }

  handWords(taps, bar) {
    const words = this.hand.querySelector("[data-hand-words]"), n = taps.length / 2, mm = Number(this.hand.elements.mm.value.replace(",", "."));
    if (n < 3 || bar.length !== 4 || !(mm > 0)) { words.textContent = n ? `${Math.floor(n)} taps.` : ""; return; }
    const scale = mm / Math.hypot(bar[2] - bar[0], bar[3] - bar[1]);
    const length = Math.hypot(taps.at(-2) - taps[0], taps.at(-1) - taps[1]) * scale;
    words.textContent = `${n - 1} in ${length.toFixed(1)} mm: ${(10 * (n - 1) / length).toFixed(2)} ± ${(10 * (n - 1) / length * 0.71 / length).toFixed(2)} per cm.`;
  }
}

function shape(name, kind, attributes) {
  const node = document.createElementNS(NAMESPACE, name);
  node.setAttribute("class", kind);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  return node;
}

const place = document.querySelector("[data-covering]");
if (place) new Drawing(place);
