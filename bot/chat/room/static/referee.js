// The referee's page: four worded buttons, and undo always in the same place.
import { Live } from "./match-live.js";
import { showPages } from "./match-board.js";

const at = (id) => document.getElementById(id);
const given = JSON.parse(at("main").dataset.board);
const live = new Live(given, show, (sentence) => (at("told").textContent = sentence));

function show(board) {
  document.body.dataset.stop = board.stop;
  document.body.dataset.revision = String(board.revision);
  at("heading").textContent = board.heading;
  at("hint").textContent = board.hint;
  at("told").textContent = board.told.map((told) => told.words).join(" ");
  showPages(board);
  const numbers = board.stop === "measure" || board.stop === "beat";
  at("offers").classList.toggle("numbers", numbers);
  at("offers").classList.toggle("throws", board.stop === "toss");
  const held = holder();
  at("offers").replaceChildren(...board.offers.map((choice, index) => button(choice, index === 0)));
  at("asides").replaceChildren(...board.asides.map((choice) => button(choice, false)));
  at("undo").disabled = !board.undo;
  if (held) hold(held);
}

// Whoever calls by keyboard goes on where the last call was made: buttons are made anew each time.
function holder() {
  return ["offers", "asides", "undo"].find((id) => at(id).contains(document.activeElement));
}

function hold(id) {
  const wish = at(id);
  const next = wish.matches("button:enabled") ? wish : wish.querySelector("button");
  (next ?? at("offers").querySelector("button") ?? at("undo")).focus();
}

function button(choice, first) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = choice.label;
  made.dataset.call = choice.call;
  made.classList.toggle("first", first);
  made.addEventListener("click", () => live.call(choice.call));
  return made;
}

at("undo").addEventListener("click", () => live.call("undo"));
live.start();
