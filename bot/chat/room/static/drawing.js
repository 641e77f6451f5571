// A form whose answer takes a while: it says so, and a second press does nothing.
for (const form of document.querySelectorAll("form[data-drawing]")) {
  form.addEventListener("submit", (event) => {
    const button = form.querySelector("button[type=submit]");
    if (button.getAttribute("aria-disabled") === "true") return event.preventDefault();
    button.setAttribute("aria-disabled", "true");
    form.querySelector("[role=status]").textContent = form.dataset.drawing;
  });
}
addEventListener("pageshow", () => {
  // Gone back to: the form can be sent again.
  for (const form of document.querySelectorAll("form[data-drawing]")) {
    form.querySelector("button[type=submit]").removeAttribute("aria-disabled");
    form.querySelector("[role=status]").textContent = "";
  }
});
