// What forms need beyond posting: say that a change is being reckoned, keep what
// was typed if the server is away, and stay out of the way of who types on.
const say = (words, aloud = false) => {
  const place = document.getElementById("say");
  if (!place) return;
  place.textContent = words;
  place.classList.toggle("hidden", !aloud);
};
const benchOf = (event) => event.target.closest?.("form[data-bench]");
const nowhere = { elements: [] };
const openBench = () => document.querySelector("form[data-bench]") ?? nowhere;

// What the document says, where a field may show what is typed and not saved.
const saved = (field) => field.dataset.saved
  ?? (field instanceof HTMLSelectElement ? ([...field.options].find((o) => o.defaultSelected) ?? field.options[0])?.value : field.defaultValue);
const values = (form) => [...form.elements].filter((f) => f.matches("input[type=text], select") && f.name);
const typed = (form) => values(form)
  .filter((f) => f.value.trim() !== saved(f))
  .map((f) => [f.name, f.value]);

// The fields that are being typed in: from the first key until they are left.
const halfway = new WeakSet();
document.addEventListener("input", (event) => event.target.matches("input[type=text]") && halfway.add(event.target), true);
for (const left of ["change", "focusout"]) document.addEventListener(left, (event) => halfway.delete(event.target), true);

// What was typed and not yet acknowledged survives a server that is gone.
const keptKey = () => "gylewright typed " + location.pathname;
const keep = (form) => {
  const values = typed(form);
  try {
    if (values.length) sessionStorage.setItem(keptKey(), JSON.stringify(values));
    else sessionStorage.removeItem(keptKey());
  } catch { /* storage may be off */ }
};
const away = () => say("The server does not answer. What you typed is kept in this page, and is sent again when you change a field or reload.", true);

document.addEventListener("htmx:before:request", (event) => {
  const form = benchOf(event);
  if (!form) return;
  const { request } = event.detail.ctx;
  const button = request.submitter?.name ? request.submitter : null;
  keep(form);
  // Enter in a field is a change and then a submit; where one went, the other has
  // nothing to add.
  if (!button && !typed(form).length && !form.querySelector("[data-saved]")) return event.preventDefault();
  // A request that waited for another is of the form as it is now, but for the
  // field that somebody is in the middle of: half a value is not a value.
  const data = new FormData(form);
  for (const field of form.elements) if (halfway.has(field)) data.set(field.name, saved(field));
  event.detail.ctx.sent = new Map(data);
  request.body = new URLSearchParams(data);
  if (button) request.body.append(button.name, button.value);
  say("reckoning");
});

// What was typed after the request went is not in the answer, and outlives it. Any
// other text field shows what the answer says, also the one that has the focus.
document.addEventListener("htmx:before:swap", (event) => {
  const { ctx } = event.detail;
  if (ctx.sent) ctx.later = new Map(values(openBench()).filter((f) => f.value !== ctx.sent.get(f.name)).map((f) => [f.name, f.value]));
});
document.addEventListener("htmx:after:swap", (event) => {
  const { response, sent, later } = event.detail.ctx;
  // What no form of a bench asked for says nothing of it.
  if (response.status >= 400 || !sent) return;
  for (const field of later ? values(openBench()) : []) {
    const value = later.get(field.name) ?? field.defaultValue;
    if (value !== undefined && value !== field.value) field.value = value;
  }
  keep(openBench());
  const moved = document.querySelector("[data-said]");
  say(moved ? moved.dataset.said : "reckoned");
});
document.addEventListener("htmx:error", away);
document.addEventListener("htmx:response:error", away);

const restore = (form) => {
  let kept;
  try { kept = JSON.parse(sessionStorage.getItem(keptKey()) ?? "[]"); } catch { return; }
  let differs = false;
  for (const [name, value] of kept) {
    const field = [...form.elements].find((f) => f.name === name);
    if (!field || field.value === value) continue;
    field.value = value;
    differs = true;
  }
  if (differs) form.dispatchEvent(new Event("change", { bubbles: true }));
};

// Not before the form listens: what is restored is sent at once.
let restored = false;
const begin = () => {
  const form = document.querySelector("form[data-bench][data-htmx-powered]");
  if (!form || restored) return;
  restored = true;
  restore(form);
};
document.addEventListener("htmx:after:init", begin);
begin();

// An invitation is sent to somebody: with the address of this server before it.
for (const link of document.querySelectorAll("a.secret")) link.textContent = link.href;

// Sliders over fields: they move what is written in the field, and the form hears of it.
const numberIn = (text) => Number.parseFloat(text.replace(",", "."));
const showSliders = () => {
  for (const slider of document.querySelectorAll("input[data-slides][hidden]")) slider.hidden = false;
};
document.addEventListener("input", (event) => {
  const moved = event.target;
  if (moved.matches("input[data-slides]")) {
    const field = document.getElementById(moved.dataset.slides);
    const words = `${Number(moved.value)} ${moved.dataset.unit}`;
    moved.setAttribute("aria-valuetext", words);
    if (field) field.value = words;
    return;
  }
  // What is typed in the unit of the slider moves the slider.
  const slider = [...document.querySelectorAll("input[data-slides]")].find((s) => s.dataset.slides === moved.id);
  if (!slider || !moved.value.includes(slider.dataset.unit) || Number.isNaN(numberIn(moved.value))) return;
  slider.value = numberIn(moved.value);
  slider.setAttribute("aria-valuetext", `${Number(slider.value)} ${slider.dataset.unit}`);
}, true);
showSliders();
