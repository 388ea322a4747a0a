// The live number beside a slider, one press a form, and a look at the new plan. Nothing else needs this.
"use strict";
for (const output of document.querySelectorAll("output[data-of]")) {
  const slider = document.getElementById(output.dataset.of);
  const show = () => { output.textContent = `${slider.value} %`; };
  slider.addEventListener("input", show);
  show();
}
for (const form of document.querySelectorAll("form")) {
  let sent = false;
  form.addEventListener("submit", (event) => {
    if (sent) event.preventDefault();
    sent = true;
  });
}
// A page that comes back from the browser's memory may be pressed again.
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
const waiting = document.querySelector(".waiting a");
if (waiting) setTimeout(() => { location.replace(waiting.href); }, 3000);
