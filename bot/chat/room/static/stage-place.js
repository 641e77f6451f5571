// Where a lesson stands, kept by this tab alone: a page that is loaded again or come back to goes on
// from there.
const KEY = "lesson";
const AGAIN = ["reload", "back_forward"];

export class Place {
  constructor(score) {
    this.lesson = `${score.reading} ${score.way}`;
    this.states = score.states;
    this.here = 0;
  }

  // What was kept of this lesson before; nothing on any other way here.
  kept() {
    if (!AGAIN.includes(performance.getEntriesByType("navigation")[0]?.type)) return {};
    try {
      const { lesson, ...kept } = JSON.parse(sessionStorage.getItem(KEY));
      if (lesson === this.lesson && this.states[kept.here]) return kept;
    } catch {
      // Nothing was kept, or storage is closed to us: the lesson begins anew.
    }
    return {};
  }

  // The last state in which nothing ran, and what was turned since.
  keep(here, turned) {
    if (this.states[here].running === "nothing") this.here = here;
    try {
      sessionStorage.setItem(KEY, JSON.stringify({ lesson: this.lesson, here: this.here, ...turned }));
    } catch {
      // Then a page that is loaded again begins at the beginning.
    }
  }
}
