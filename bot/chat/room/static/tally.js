// Pencil tallies: strokes in bundles of five, the fifth across the other four, and the number.
const NAMESPACE = "http://www.w3.org/2000/svg";
const BUNDLE = 5;
const STROKE = 7;

export function tally(count) {
  const bundles = [];
  for (let left = count; left > 0; left -= BUNDLE) bundles.push(bundle(Math.min(left, BUNDLE)));
  const number = document.createElement("span");
  number.textContent = String(count);
  return [...bundles, number];
}

function bundle(strokes) {
  const upright = Math.min(strokes, BUNDLE - 1);
  const width = STROKE * (upright + 1);
  const svg = document.createElementNS(NAMESPACE, "svg");
  svg.setAttribute("viewBox", `0 0 ${width} 24`);
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(NAMESPACE, "path");
  let drawn = "";
  for (let n = 1; n <= upright; n += 1) drawn += `M${STROKE * n + 0.6} 3L${STROKE * n - 0.6} 21`;
  if (strokes === BUNDLE) drawn += `M1 19L${width - 1} 6`;
  path.setAttribute("d", drawn);
  svg.append(path);
  return svg;
}
