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
    if (!form.elements.said && form.method === "post") {
      const said = document.createElement("input");
      said.type = "hidden";
      said.name = "said";
      said.value = told(form, button);
      form.append(said);
    }
    if (button) {
      button.setAttribute("aria-busy", "true");
      button.firstChild.textContent = button.value === "take-back" ? "Taking back ..." : "Noting ...";
    }
  });
}
// What a note is about, in words, for the list of those that wait.
function told(form, button) {
  const words = form.elements.words && form.elements.words.value;
  const said = words ? `"${words}"` : button ? button.textContent.replace(/\s+/g, " ").trim() : "A note";
  const trees = [...form.querySelectorAll("input[name=tree]")].filter((one) => one.type === "hidden" || one.checked);
  const names = trees.map((one) => one.value).slice(0, 6).join(", ");
  return (names && !said.includes(names) ? `${said} (${names})` : said).slice(0, 200);
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
if (waiting) {
  waiting.querySelector("a").hidden = true; // the page follows by itself
  setTimeout(look, 300);
}
const scrolled = sessionStorage.getItem("scrolled");
if (scrolled !== null) {
  sessionStorage.removeItem("scrolled");
  scrollTo(0, Number(scrolled));
}
// What an answer leads back to may be folded.
const place = document.getElementById(location.hash.slice(1));
if (place && place.matches("details")) place.open = true;
// Trees are found while somebody types.
const find = document.getElementById("find");
if (find) {
  find.addEventListener("input", () => {
    const wanted = find.value.trim().toLowerCase();
    for (const row of document.querySelectorAll(".trees li")) row.hidden = !row.firstElementChild.textContent.toLowerCase().includes(wanted);
    for (const bench of document.querySelectorAll("main section")) bench.hidden = !bench.querySelector("li:not([hidden])");
  });
}
// Notes that wait for the network: kept by the worker, shown here, sent when the network is back.
const outbox = document.getElementById("outbox");
if (outbox && isSecureContext && "serviceWorker" in navigator) {
  const base = outbox.dataset.base;
  const say = async (message) => {
    const worker = await navigator.serviceWorker.getRegistration(base);
    if (worker && worker.active) worker.active.postMessage(message);
  };
  navigator.serviceWorker.register(`${base}sw.js`, { scope: base }).then(() => navigator.serviceWorker.ready)
    .then(() => say({ kind: "send" })).catch(() => {});
  navigator.serviceWorker.addEventListener("message", ({ data }) => { if (data.kind === "outbox") show(data.rows, say); });
  addEventListener("online", () => say({ kind: "send" }));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) say({ kind: "send" }); });
}
let waited = 0;
function show(rows, say) {
  const add = (parent, name, words) => {
    const one = document.createElement(name);
    one.textContent = words;
    parent.append(one);
    return one;
  };
  const press = (parent, words, message) => {
    const button = add(parent, "button", words);
    button.type = "button";
    button.addEventListener("click", () => say(message));
  };
  outbox.replaceChildren();
  outbox.hidden = !rows.length;
  if (!rows.length && waited) location.reload();
  waited = rows.filter((row) => !row.refused).length;
  if (!rows.length) return;
  const days = Math.floor((Date.now() - Math.min(...rows.map((row) => row.at))) / 86400000);
  const old = days > 0 ? ` The oldest is ${days} ${days === 1 ? "day" : "days"} old.` : "";
  add(outbox, "h2", `${rows.length} ${rows.length === 1 ? "note waits" : "notes wait"} here and will be sent.${old}`);
  const list = add(outbox, "ul", "");
  for (const row of rows) {
    const line = add(list, "li", "");
    add(line, "span", `${row.said}, ${new Date(row.at).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit" })} `);
    if (row.refused) add(line, "p", row.refused);
    if (row.doubt) press(line, "It is right: note it", { kind: "sure", id: row.id });
    press(line, row.refused ? "Throw away" : "Take back", { kind: "drop", id: row.id });
  }
  if (waited) press(outbox, "Send now", { kind: "send" });
}
// Big steps beside a count, for wet fingers.
for (const input of document.querySelectorAll(".stepper input")) {
  const name = input.labels[0].textContent;
  const step = (words, by) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.setAttribute("aria-label", `${by > 0 ? "One more" : "One less"}: ${name}`);
    button.addEventListener("click", () => { input.value = Math.max(0, Number(input.value) + by); });
    return button;
  };
  input.before(step("\u2212", -1));
  input.after(step("+", 1));
}
// A picture is made small here, before it is sent: the network at the bench is slow. The server does it again.
for (const form of document.querySelectorAll("form.photograph")) {
  const input = form.elements.photo, place = form.elements.keep_place, button = form.querySelector("button");
  let whole, small;
  const choose = () => {
    const files = new DataTransfer();
    files.items.add(small && !place.checked ? small : whole);
    input.files = files.files;
  };
  input.addEventListener("change", async () => {
    [whole, small] = [input.files[0], undefined];
    if (!whole) return;
    button.disabled = true;
    small = await shrunk(whole).catch(() => undefined); // the server says what is wrong with it
    button.disabled = false;
    choose();
  });
  place.addEventListener("change", () => { if (whole) choose(); });
}
async function shrunk(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const part = Math.min(1, 1600 / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(picture.width * part), Math.round(picture.height * part)];
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  return blob && blob.size < file.size ? new File([blob], "picture.jpg", { type: "image/jpeg" }) : undefined;
}
