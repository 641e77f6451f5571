// The list of ways to read the line: dark moves the mark, on takes, back closes. Any clicker can.

export class Ways {
  constructor(box, now, take) {
    this.box = box;
    this.ways = [...box.querySelectorAll("li")];
    this.take = take;
    this.now = this.ways.findIndex((way) => way.dataset.way === now);
    this.at = this.now;
  }

  open() {
    this.box.hidden = false;
    this.#mark((this.now + 1) % this.ways.length);
  }

  // Whether a key was meant for the list; then nothing else shall come of it.
  takes(key, name) {
    if (this.box.hidden) return false;
    if (name === "on") this.#take();
    else if (name === "blank" || name === "other-way" || key === "ArrowDown" || name === "spot-right") {
      this.#mark((this.at + 1) % this.ways.length);
    } else if (key === "ArrowUp") this.#mark((this.at + this.ways.length - 1) % this.ways.length);
    else if (name === "back" || name === "spot-left" || key === "Escape") this.box.hidden = true;
    return true;
  }

  #mark(index) {
    this.at = index;
    this.ways.forEach((way, each) => {
      way.classList.toggle("marked", each === index);
      if (each === index) way.setAttribute("aria-current", "true");
      else way.removeAttribute("aria-current");
    });
    this.ways[index].scrollIntoView({ block: "nearest" });
  }

  #take() {
    this.box.hidden = true;
    if (this.at !== this.now) this.take(this.ways[this.at].dataset.way);
  }
}
