// One press a form, what is being done said at once, and a look at the new plan. Nothing else needs this.
"use strict";
for (const form of document.querySelectorAll("form")) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    const button = event.submitter;
    if (sent || (button && button.value === "nothing")) {
      event.preventDefault();
      return;
    }
    sent = true;
    if (button) {
      button.setAttribute("aria-busy", "true");
      button.firstChild.textContent = button.value === "take-back" ? "Taking back ..." : "Noting ...";
    }
  });
}
// A page that comes back from the browser's memory may be pressed again.
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
// The page with the new plan, as soon as there is one, unless somebody is in the middle of something.
const waiting = document.querySelector(".waiting[data-plan]");
const busy = () => document.querySelector("form details[open], input[type=text]:focus, select:focus, input:checked");
async function look() {
  try {
    const answer = await fetch(waiting.dataset.state, { cache: "no-store" });
    const state = await answer.json();
    if (state.number >= Number(waiting.dataset.plan) && !busy()) {
      sessionStorage.setItem("scrolled", String(scrollY));
      location.replace(waiting.querySelector("a").href);
      return;
    }
  } catch { /* asked again below */ }
  setTimeout(look, 700);
}
if (waiting) setTimeout(look, 300);
const scrolled = sessionStorage.getItem("scrolled");
if (scrolled !== null) {
  sessionStorage.removeItem("scrolled");
  scrollTo(0, Number(scrolled));
}
// Trees are found while somebody types.
const find = document.getElementById("find");
if (find) {
  find.addEventListener("input", () => {
    const wanted = find.value.trim().toLowerCase();
    for (const row of document.querySelectorAll(".trees li")) row.hidden = !row.firstElementChild.textContent.toLowerCase().includes(wanted);
    for (const bench of document.querySelectorAll("main section")) bench.hidden = !bench.querySelector("li:not([hidden])");
  });
}
