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
const typed = (form) => [...form.elements]
  .filter((f) => f.matches("input[type=text], select") && f.name && f.value.trim() !== saved(f))
  .map((f) => [f.name, f.value]);

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
  // A request that waited for another is of the form as it is now.
  request.body = new URLSearchParams(new FormData(form));
  if (button) request.body.append(button.name, button.value);
  say("reckoning");
});

// The field that has the focus is left alone by a swap, since somebody types in
// it; if nobody has, it shows what the document says now.
let untouched = null;
document.addEventListener("htmx:before:swap", () => {
  const field = document.activeElement;
  untouched = field?.form?.matches("[data-bench]") && field.value === field.defaultValue ? field : null;
});
document.addEventListener("htmx:after:swap", (event) => {
  if (event.detail.ctx.response.status >= 400) return;
  if (untouched?.isConnected) untouched.value = untouched.defaultValue;
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
