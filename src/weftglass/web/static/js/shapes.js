// Plane geometry of an outline: points are [x, y] in photograph pixels, y downward.

export const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Nearest point of segment a-b to p: {point, along (0..1), far}. */
export function nearestOnSegment(p, a, b) {
  const dx = b[0] - a[0], dy = b[1] - a[1];
  const length2 = dx * dx + dy * dy;
  const along = length2 ? Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2)) : 0;
  const point = [a[0] + along * dx, a[1] + along * dy];
  return { point, along, far: distance(p, point) };
}

/** Which side of a closed polygon is nearest to p: {after: index of its first corner, point, far}. */
export function nearestSide(polygon, p) {
  let best = { after: 0, point: polygon[0], far: Infinity };
  for (let i = 0; i < polygon.length; i++) {
    const found = nearestOnSegment(p, polygon[i], polygon[(i + 1) % polygon.length]);
    if (found.far < best.far) best = { after: i, point: found.point, far: found.far };
  }
  return best;
}

/** Corners that must stay so that no dropped point lies further off than `tolerance`; open run first..last. */
function keptCorners(points, first, last, tolerance, kept) {
  let worst = -1, far = tolerance;
  for (let i = first + 1; i < last; i++) {
    const off = nearestOnSegment(points[i], points[first], points[last]).far;
    if (off > far) { far = off; worst = i; }
  }
  if (worst < 0) return;
  kept.add(worst);
  keptCorners(points, first, worst, tolerance, kept);
  keptCorners(points, worst, last, tolerance, kept);
}

/** Indexes of the corners that become handles: at most `most`, in order round the outline. */
export function handleCorners(polygon, most = 36) {
  if (polygon.length <= 12) return polygon.map((_, i) => i);
  const top = polygon.reduce((best, p, i) => (p[1] < polygon[best][1] ? i : best), 0);
  const base = polygon.reduce((best, p, i) => (p[1] > polygon[best][1] ? i : best), 0);
  const turned = polygon.map((_, i) => (i + top) % polygon.length);
  const points = [...turned.map((i) => polygon[i]), polygon[top]];
  const middle = (base - top + polygon.length) % polygon.length;
  let tolerance = Math.max(1.5, 0.003 * Math.abs(polygon[base][1] - polygon[top][1]));
  for (;;) {
    const kept = new Set([0, middle]);
    keptCorners(points, 0, middle, tolerance, kept);
    keptCorners(points, middle, points.length - 1, tolerance, kept);
    if (kept.size <= most) return [...kept].map((i) => turned[i]).sort((a, b) => a - b);
    tolerance *= 1.35;
  }
}

/** Corners strictly between two indexes, going round. */
export function between(count, from, to) {
  const found = [];
  for (let i = (from + 1) % count; i !== to; i = (i + 1) % count) found.push(i);
  return found;
}

/** Polygon with one handle moved; corners up to the neighbouring handles follow in proportion to their way along. */
export function dragged(polygon, handles, which, shift) {
  const moved = polygon.map((p) => [p[0], p[1]]);
  const here = handles[which];
  const pull = (i, share) => { moved[i] = [polygon[i][0] + share * shift[0], polygon[i][1] + share * shift[1]]; };
  pull(here, 1);
  if (handles.length < 2) return moved;
  const before = handles[(which - 1 + handles.length) % handles.length];
  const after = handles[(which + 1) % handles.length];
  for (const [start, run] of [
    [before, [...between(polygon.length, before, here), here]],
    [after, [...between(polygon.length, here, after)].reverse().concat([here])],
  ]) {
    let gone = 0, last = polygon[start];
    const way = run.map((i) => { gone += distance(last, polygon[i]); last = polygon[i]; return gone; });
    run.slice(0, -1).forEach((i, k) => pull(i, gone ? way[k] / gone : 0));
  }
  return moved;
}

/** A handle put in at the place nearest to p: {polygon, handles, which}. */
export function withHandle(polygon, handles, p) {
  const { after, point } = nearestSide(polygon, p);
  const grown = [...polygon.slice(0, after + 1), point, ...polygon.slice(after + 1)];
  const shifted = handles.map((i) => (i > after ? i + 1 : i));
  const all = [...shifted, after + 1].sort((a, b) => a - b);
  return { polygon: grown, handles: all, which: all.indexOf(after + 1) };
}

/** A handle taken out: the outline runs straight between its neighbours. At least four handles stay. */
export function withoutHandle(polygon, handles, which) {
  if (handles.length <= 4) return { polygon, handles };
  const before = handles[(which - 1 + handles.length) % handles.length];
  const after = handles[(which + 1) % handles.length];
  const gone = new Set(between(polygon.length, before, after));
  const stays = polygon.map((_, i) => i).filter((i) => !gone.has(i));
  const place = new Map(stays.map((old, now) => [old, now]));
  return {
    polygon: stays.map((i) => polygon[i]),
    handles: handles.filter((_, k) => k !== which).map((i) => place.get(i)),
  };
}

/** The piece's own frame: heights along the axis. `axis` = {base: [x, y], top: [x, y], height_mm}. */
export class Axis {
  constructor({ base, top, height_mm: height }) {
    this.base = base; this.top = top; this.height = height;
    const length = distance(base, top) || 1;
    this.up = [(top[0] - base[0]) / length, (top[1] - base[1]) / length];
    this.across = [-this.up[1], this.up[0]];
    this.mmPerPx = height / length;
  }
  /** Height in mm of a photograph point, kept within the piece. */
  heightOf(p) {
    const along = (p[0] - this.base[0]) * this.up[0] + (p[1] - this.base[1]) * this.up[1];
    return Math.min(this.height, Math.max(0, along * this.mmPerPx));
  }
  /** Photograph point at a height in mm and a distance across in pixels. */
  at(z, across = 0) {
    const along = z / this.mmPerPx;
    return [this.base[0] + along * this.up[0] + across * this.across[0],
      this.base[1] + along * this.up[1] + across * this.across[1]];
  }
}
