// The line on the stage: the engraving with a pencil bracket and a cursor drawn into it.

const SVG = "http://www.w3.org/2000/svg";
const LONG = 2000; // units; a staff line is longer, any other stroke shorter

export class Picture {
  constructor(figure) {
    this.figure = figure;
    this.signs = [];
    this.frame = 0;
    this.spot = null;
  }

  show(text, signs) {
    const drawn = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    drawn.removeAttribute("width");
    drawn.removeAttribute("height");
    drawn.setAttribute("aria-hidden", "true");
    this.forget();
    this.figure.replaceChildren(document.importNode(drawn, true));
    const page = this.figure.querySelector("g[transform]");
    // Under the ink, as pencil on a printed page seems to lie.
    this.marks = document.createElementNS(SVG, "g");
    page.prepend(this.marks);
    this.staves = stavesOf(page);
    this.space = this.staves.length ? (this.staves[0].bottom - this.staves[0].top) / 4 : 180;
    this.boxes = boxesOf(page);
    this.signs = signs.map((sign) => ({ ...sign, box: this.boxes.get(`${sign.part}:${sign.number}`) }));
    this.signs = this.signs.filter((sign) => sign.box);
  }

  // A pencil bracket around one measure, or none.
  bracket(measure) {
    this.spot = measure;
    this.marks?.querySelector(".bracket")?.remove();
    const inside = this.signs.filter((sign) => sign.measure === measure);
    if (!inside.length) return;
    const boxes = inside.map((sign) => sign.box);
    const staves = boxes.map((box) => this.#staffOf(box));
    const pad = 0.8 * this.space;
    const left = Math.min(...boxes.map((box) => box.x)) - pad;
    const right = Math.max(...boxes.map((box) => box.x + box.width)) + pad;
    const top = Math.min(...boxes.map((box) => box.y), ...staves.map((staff) => staff.top)) - pad;
    const bottom =
      Math.max(...boxes.map((box) => box.y + box.height), ...staves.map((staff) => staff.bottom)) + pad;
    const foot = 0.9 * this.space;
    // Drawn by hand: the strokes overshoot a little and do not quite meet the same corner.
    const lean = 0.12 * this.space;
    this.#draw(
      "bracket",
      `M${left + foot} ${top - lean}L${left} ${top}L${left + lean} ${bottom}L${left + foot} ${bottom + lean}` +
        `M${right - foot} ${top + lean}L${right + lean} ${top}L${right} ${bottom}L${right - foot} ${bottom - lean}`,
    );
  }

  // Slips of paper over some measures, or none.
  cover(measures) {
    this.covers?.remove();
    if (!measures.length || !this.marks) return;
    this.covers = this.marks.parentNode.appendChild(document.createElementNS(SVG, "g"));
    for (const staff of this.staves) {
      const here = this.signs.filter((sign) => this.#staffOf(sign.box) === staff);
      for (const measure of measures) this.#slip(staff, here, measure);
    }
  }

  // Arrows over the right ends of the staves: from there it is read.
  fromRight() {
    if (!this.marks) return;
    const long = 4.5 * this.space;
    const head = 0.9 * this.space;
    const data = this.staves.map((staff) => {
      const x = staff.right - long;
      const y = staff.top - 2.7 * this.space;
      return `M${x + long} ${y}H${x}M${x + head} ${y - head}L${x} ${y}L${x + head} ${y + head}`;
    });
    this.#draw("from-right", data.join(""));
  }

  #slip(staff, here, measure) {
    const inside = here.filter((sign) => sign.measure === measure);
    if (!inside.length) return;
    // With their stems, which the boxes of the heads do not have.
    const ink = inside.map(({ part, number }) =>
      this.figure.querySelector(`[data-part="${part}"][data-note="${number}"]`).getBBox(),
    );
    const after = here.filter((sign) => sign.measure > measure).map((sign) => sign.box.x);
    const pad = 0.5 * this.space;
    const left = Math.min(...inside.map((sign) => sign.box.x)) - pad;
    const right = after.length ? Math.min(...after) - 1.4 * this.space : staff.right - 0.3 * this.space;
    const top = Math.min(staff.top, ...ink.map((box) => box.y)) - pad;
    const bottom = Math.max(staff.bottom, ...ink.map((box) => box.y + box.height)) + pad;
    const slip = this.covers.appendChild(document.createElementNS(SVG, "rect"));
    slip.setAttribute("class", "cover");
    for (const [name, value] of Object.entries({ x: left, y: top, width: right - left, height: bottom - top })) {
      slip.setAttribute(name, value);
    }
    slip.setAttribute("stroke-width", String(0.18 * this.space));
  }

  // Move a cursor along a part; `pulse` tells how many pulses of it were heard.
  follow(pulse, part = 0) {
    const cursor = this.#draw("cursor", "");
    const own = this.signs.some((sign) => sign.part === part) ? part : 0;
    const stops = this.signs.filter((sign) => sign.part === own);
    const glide = !matchMedia("(prefers-reduced-motion: reduce)").matches;
    const look = () => {
      const now = pulse();
      const index = stops.findLastIndex((sign) => sign.at <= now + 0.02);
      if (index >= 0) this.#place(cursor, stops[index], glide ? stops[index + 1] : undefined, now);
      this.frame = requestAnimationFrame(look);
    };
    look();
  }

  forget() {
    cancelAnimationFrame(this.frame);
    this.marks?.querySelector(".cursor")?.remove();
  }

  #place(cursor, sign, next, now) {
    const staff = this.#staffOf(sign.box);
    let x = sign.box.x + sign.box.width / 2;
    if (next && this.#staffOf(next.box) === staff) {
      const part = Math.min(Math.max((now - sign.at) / sign.length, 0), 1);
      x += part * (next.box.x + next.box.width / 2 - x);
    }
    const over = 1.8 * this.space;
    const last = this.staves[this.staves.indexOf(staff) + this.#parts() - 1] ?? staff;
    cursor.setAttribute("d", `M${x} ${staff.top - over}V${last.bottom + over}`);
    cursor.dataset.number = String(sign.number);
  }

  #parts() {
    return Math.max(...this.signs.map((sign) => sign.part)) + 1;
  }

  #staffOf(box) {
    const middle = box.y + box.height / 2;
    const away = (staff) => Math.max(staff.top - middle, middle - staff.bottom, 0);
    return this.staves.reduce((best, staff) => (away(staff) < away(best) ? staff : best));
  }

  #draw(name, data) {
    this.marks.querySelector(`.${name}`)?.remove();
    const path = this.marks.appendChild(document.createElementNS(SVG, "path"));
    path.setAttribute("class", name);
    path.setAttribute("d", data);
    path.setAttribute("stroke-width", String((name === "cursor" ? 0.26 : 0.36) * this.space));
    return path;
  }
}

function boxesOf(page) {
  const found = new Map();
  for (const sign of page.querySelectorAll("[data-box]")) {
    const [x, y, width, height] = sign.dataset.box.split(" ").map(Number);
    found.set(`${sign.dataset.part}:${sign.dataset.note}`, { x, y, width, height });
  }
  return found;
}

// Staff lines are the long level strokes, drawn measure by measure; five make a staff.
function stavesOf(page) {
  const levels = new Set();
  const rights = new Map();
  for (const path of page.querySelectorAll("path[stroke-width]")) {
    const found = /^M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)$/.exec(path.getAttribute("d"));
    if (!found || found[2] !== found[4]) continue;
    const [, left, y, right] = found.map(Number);
    if (Math.abs(right - left) > LONG) levels.add(y);
    rights.set(y, Math.max(left, right, rights.get(y) ?? left));
  }
  const sorted = [...levels].sort((one, other) => one - other);
  const staves = [];
  for (let at = 0; at + 4 < sorted.length; at += 5) {
    staves.push({ top: sorted[at], bottom: sorted[at + 4], right: rights.get(sorted[at]) });
  }
  return staves;
}
