// The page of a film: the part that only this device knows is the one that is unfolded.

const films = [...document.querySelectorAll("details.film")];

function mine() {
  try {
    return Number(localStorage.getItem(`part ${films[0].dataset.choir}`)) || 0;
  } catch {
    return 0; // storage may be closed to us
  }
}

if (films.length) {
  const film = films.find((each) => Number(each.dataset.part) === mine()) ?? films[0];
  film.open = true;
  // What was just told stands under the film of the part that told it.
  if (location.hash === "#held") film.querySelector(".ask")?.scrollIntoView();
}
