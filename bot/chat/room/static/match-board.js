// The folder of a match: a page a side, large figures, pencil tallies in bundles of five, the baton.

const SVG = "http://www.w3.org/2000/svg";
const STROKE = 11; // from stroke to stroke
const TALL = 34;
const BUNDLE = 4 * STROKE + 20;

export function showPages(board) {
  for (const [side, page] of Object.entries(board.pages)) {
    const leaf = document.getElementById(side);
    leaf.querySelector(".leaf-name").textContent = page.name;
    const figure = leaf.querySelector(".figure");
    if (figure.textContent !== String(page.score)) figure.textContent = String(page.score);
    leaf.classList.toggle("turn", board.side === side || board.side === null);
    const group = leaf.querySelector(".leaf-group");
    if (group) group.textContent = page.group;
    const turns = leaf.querySelector(".leaf-turns");
    if (turns) turns.textContent = page.turns;
    const draw = leaf.querySelector(".leaf-draw");
    if (draw) showDraw(draw, page.draw);
    const tallies = leaf.querySelector(".tallies");
    if (tallies) drawTallies(tallies, page.score);
  }
}

// Which numbers of each part belong to a page; there until the first call.
function showDraw(list, rows) {
  const items = rows.map((row) => {
    const item = document.createElement("li");
    item.textContent = row;
    return item;
  });
  list.replaceChildren(...items);
  list.closest(".leaf").classList.toggle("drawn", rows.length > 0);
}

// As a hand draws them: no two strokes stand quite alike, and the fifth goes across.
function drawTallies(svg, count) {
  if (svg.dataset.count === String(count)) return;
  svg.dataset.count = String(count);
  const across = 4; // bundles in a line
  const bundles = Math.max(1, Math.ceil(count / 5));
  const lines = Math.ceil(bundles / across);
  svg.setAttribute("viewBox", `0 0 ${across * BUNDLE} ${Math.max(lines, 1) * (TALL + 14)}`);
  const strokes = [];
  for (let number = 0; number < count; number += 1) {
    const bundle = Math.floor(number / 5);
    const left = (bundle % across) * BUNDLE + 6;
    const top = Math.floor(bundle / across) * (TALL + 14) + 5;
    const lean = wobble(number, 3);
    const lift = wobble(number + 40, 3);
    if (number % 5 === 4) {
      strokes.push(`M${left - 5} ${top + TALL - 7 + lift}L${left + 3 * STROKE + 6} ${top + 6 + lean}`);
    } else {
      const x = left + (number % 5) * STROKE;
      strokes.push(`M${x + lean} ${top + lift}L${x - lean / 2} ${top + TALL + lift}`);
    }
  }
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", strokes.join(""));
  svg.replaceChildren(path);
}

// A small offset that is always the same for the same stroke.
function wobble(number, most) {
  return Math.round((((number * 7919 + 104729) % 97) / 97 - 0.5) * most * 10) / 10;
}

// Beat numbers in pencil over the music (its measures are numbered by the engraver), and a ring about
// the place of a claim.
export function showNumbers(picture, place) {
  picture.marks?.querySelectorAll(".number, .place").forEach((mark) => mark.remove());
  if (!picture.signs?.length) return;
  const measures = new Map();
  for (const sign of picture.signs) {
    if (sign.part === picture.signs[0].part && sign.measure > 0) {
      if (!measures.has(sign.measure)) measures.set(sign.measure, []);
      measures.get(sign.measure).push(sign);
    }
  }
  for (const [number, signs] of measures) {
    drawMeasure(picture, number, signs, measures.get(number + 1)?.[0], place);
  }
}

function drawMeasure(picture, number, signs, following, place) {
  const space = picture.space;
  const staff = nearest(picture, signs[0].box);
  const goesOn = following && nearest(picture, following.box) === staff;
  // As far as numbers may go: those of the next measure keep clear of the last one.
  const end = goesOn ? following.box.x - space : staff.right - 0.5 * space;
  const over = staff.top - 3.6 * space;
  const begin = Math.floor(signs[0].at + 1e-6);
  for (const beat of beats(signs)) {
    const x = placeOf(signs, beat, end, picture);
    const chosen = place[0] === number && place[1] === beat - begin + 1;
    text(picture, `number${chosen ? " chosen" : ""}`, x, over, String(beat - begin + 1), 1.7);
    if (chosen) ring(picture, x, over - 0.55 * space, 1.4 * space);
  }
}

function beats(signs) {
  const found = [];
  const last = signs.at(-1);
  for (let beat = Math.ceil(signs[0].at - 1e-6); beat < last.at + last.length - 1e-6; beat += 1) found.push(beat);
  return found;
}

// Where a beat lies: at its sign, or between two where a note is held over it; the last one's is up to
// `end` at most.
function placeOf(signs, beat, end, picture) {
  const at = signs.findLastIndex((sign) => sign.at <= beat + 1e-6);
  const sign = signs[Math.max(at, 0)];
  const next = signs[at + 1];
  const here = sign.box.x + Math.min(sign.box.width, 2 * picture.space) / 2;
  const far = sign.box.x + sign.box.width + 2.2 * picture.space * sign.length;
  const there = next ? next.box.x : Math.min(far, end);
  return here + (Math.max(beat - sign.at, 0) / sign.length) * (there - here);
}

function nearest(picture, box) {
  const middle = box.y + box.height / 2;
  const away = (staff) => Math.max(staff.top - middle, middle - staff.bottom, 0);
  return picture.staves.reduce((best, staff) => (away(staff) < away(best) ? staff : best));
}

function text(picture, name, x, y, words, size) {
  const drawn = picture.marks.appendChild(document.createElementNS(SVG, "text"));
  drawn.setAttribute("class", name);
  drawn.setAttribute("x", String(x));
  drawn.setAttribute("y", String(y));
  drawn.setAttribute("font-size", String(size * picture.space));
  drawn.textContent = words;
}

function ring(picture, x, y, radius) {
  const drawn = picture.marks.appendChild(document.createElementNS(SVG, "ellipse"));
  drawn.setAttribute("class", "place");
  drawn.setAttribute("cx", String(x));
  drawn.setAttribute("cy", String(y));
  drawn.setAttribute("rx", String(radius));
  drawn.setAttribute("ry", String(radius * 0.86));
  drawn.setAttribute("stroke-width", String(0.26 * picture.space));
}
