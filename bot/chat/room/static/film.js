// The page of a film: the part that only this device knows is the one that is unfolded.

const films = [...document.querySelectorAll("details.film")];

function mine() {
  try {
    return Number(localStorage.getItem(`part ${films[0].dataset.choir}`)) || 0;
  } catch {
    return 0; // storage may be closed to us
  }
}

if (films.length) (films.find((film) => Number(film.dataset.part) === mine()) ?? films[0]).open = true;
