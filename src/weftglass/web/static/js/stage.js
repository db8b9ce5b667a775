// The photograph on its stage: zoom and pan by wheel, pinch and keys; everything drawn in photograph pixels.

const SVG = "http://www.w3.org/2000/svg";

/** Keys pressed within so many milliseconds of each other are one move. */
export const ONE_MOVE_MS = 100;

/** An SVG element with attributes. */
export function draw(name, attributes = {}, parent = null) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent?.append(made);
  return made;
}

export class Stage extends EventTarget {
  /** @param svg the stage element, @param photo {href, width, height} */
  constructor(svg, photo) {
    super();
    this.svg = svg; this.photo = photo; this.pointers = new Map(); this.busy = null;
    this.image = draw("image", { href: photo.href, width: photo.width, height: photo.height }, svg);
    this.layer = draw("g", {}, svg);
    this.box = { x: 0, y: 0, width: photo.width, height: photo.height };
    this.whole();
    svg.addEventListener("wheel", (event) => this.onWheel(event), { passive: false });
    svg.addEventListener("pointerdown", (event) => this.onDown(event));
    svg.addEventListener("pointermove", (event) => this.onMove(event));
    for (const name of ["pointerup", "pointercancel"]) svg.addEventListener(name, (event) => this.onUp(event));
    svg.addEventListener("keydown", (event) => this.onKey(event));
    new ResizeObserver(() => this.show()).observe(svg);
  }

  /** Photograph pixels in one screen pixel. */
  get grain() {
    const matrix = this.svg.getScreenCTM();
    return matrix && matrix.a ? 1 / matrix.a : 1;
  }

  /** Photograph point under a pointer event. */
  point(event) {
    const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [p.x, p.y];
  }

  show() {
    const { x, y, width, height } = this.box;
    this.svg.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
    const { close_href: close } = this.photo;
    if (close && Math.max(width, height) < 0.5 * Math.max(this.photo.width, this.photo.height) && this.image.getAttribute("href") !== close) {
      this.image.setAttribute("href", close);
    }
    this.dispatchEvent(new Event("view"));
  }

  whole() {
    const { width, height } = this.photo;
    const air = 0.03 * Math.max(width, height);
    this.box = { x: -air, y: -air, width: width + 2 * air, height: height + 2 * air };
    this.show();
  }

  /** Zoom by a factor about a photograph point (default: the middle of what is seen). */
  zoom(factor, about = null) {
    const { x, y, width, height } = this.box;
    const longest = Math.max(this.photo.width, this.photo.height);
    const wanted = Math.min(1.5 * longest, Math.max(longest / 60, Math.max(width, height) / factor));
    const share = wanted / Math.max(width, height);
    const [ax, ay] = about ?? [x + width / 2, y + height / 2];
    this.box = { x: ax - (ax - x) * share, y: ay - (ay - y) * share, width: width * share, height: height * share };
    this.show();
  }

  pan(dx, dy) {
    const { width, height } = this.photo;
    this.box.x = Math.min(width - this.box.width * 0.1, Math.max(-this.box.width * 0.9, this.box.x + dx));
    this.box.y = Math.min(height - this.box.height * 0.1, Math.max(-this.box.height * 0.9, this.box.y + dy));
    this.show();
  }

  /** Bring a photograph point into sight, as when a handle gets the keyboard focus. */
  reveal(p) {
    const { x, y, width, height } = this.box;
    const air = 0.08;
    if (p[0] < x + air * width || p[0] > x + (1 - air) * width || p[1] < y + air * height || p[1] > y + (1 - air) * height) {
      this.box.x = p[0] - width / 2;
      this.box.y = p[1] - height / 2;
      this.show();
    }
  }

  onWheel(event) {
    event.preventDefault();
    this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), this.point(event));
  }

  /** A tool takes a pointer by returning {move(p, event), end(p, event)} from `claim`; else the photograph is panned. */
  onDown(event) {
    if (event.button > 0 && event.button !== 1) return;
    this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.pointers.size === 2) { this.busy?.cancel?.(); this.busy = null; return; }
    if (this.pointers.size > 2) return;
    this.svg.setPointerCapture(event.pointerId);
    this.busy = (event.button === 0 && this.claim?.(this.point(event), event)) || null;
    if (!this.busy) this.svg.classList.add("panning");
  }

  onMove(event) {
    const last = this.pointers.get(event.pointerId);
    if (!last) return;
    const now = [event.clientX, event.clientY];
    if (this.pointers.size === 2) {
      const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
      const before = Math.hypot(last[0] - other[0], last[1] - other[1]) || 1;
      const after = Math.hypot(now[0] - other[0], now[1] - other[1]) || 1;
      const middle = { clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2 };
      this.zoom(after / before, this.point(middle));
      this.pan(-(now[0] - last[0]) * this.grain / 2, -(now[1] - last[1]) * this.grain / 2);
    } else if (this.busy) {
      this.busy.move(this.point(event), event);
    } else {
      this.pan(-(now[0] - last[0]) * this.grain, -(now[1] - last[1]) * this.grain);
    }
    this.pointers.set(event.pointerId, now);
  }

  onUp(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    this.svg.classList.remove("panning");
    if (!this.busy) return;
    const busy = this.busy;
    this.busy = null;
    if (event.type === "pointercancel") busy.cancel?.();
    else busy.end(this.point(event), event);
  }

  onKey(event) {
    if (event.target !== this.svg || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = 0.1 * Math.max(this.box.width, this.box.height);
    const acts = {
      "+": () => this.zoom(1.25), "=": () => this.zoom(1.25), "-": () => this.zoom(0.8), "0": () => this.whole(),
      ArrowLeft: () => this.pan(-step, 0), ArrowRight: () => this.pan(step, 0),
      ArrowUp: () => this.pan(0, -step), ArrowDown: () => this.pan(0, step),
    };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  }
}
