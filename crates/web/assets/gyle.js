// What forms need beyond posting: say that a change is being reckoned, keep what
// was typed if the server is away, and put the focus where it was.
const say = (words) => {
  const place = document.getElementById("say");
  if (place) place.textContent = words;
};

const keptKey = () => "gylewright typed " + location.pathname;

// What was typed and not yet acknowledged survives a server that is gone.
const keep = (form) => {
  const typed = Object.fromEntries([...new FormData(form)].filter(([, v]) => typeof v === "string"));
  try { sessionStorage.setItem(keptKey(), JSON.stringify(typed)); } catch { /* storage may be off */ }
};
const forget = () => { try { sessionStorage.removeItem(keptKey()); } catch { /* as above */ } };

document.addEventListener("htmx:before:request", (event) => {
  const form = event.target.closest?.("form[data-bench]");
  if (!form) return;
  keep(form);
  say("reckoning");
});
document.addEventListener("htmx:after:swap", () => {
  forget();
  const moved = document.querySelector("[data-said]");
  say(moved ? moved.dataset.said : "reckoned");
});
const away = () => say("the server does not answer: what you typed is kept here and is sent again when you change it or reload");
document.addEventListener("htmx:error", away);

const restore = () => {
  const form = document.querySelector("form[data-bench]");
  let typed;
  try { typed = JSON.parse(sessionStorage.getItem(keptKey()) ?? "null"); } catch { return; }
  if (!form || !typed) return;
  let differs = false;
  for (const [name, value] of Object.entries(typed)) {
    const field = form.elements.namedItem(name);
    if (field && name !== "on" && "value" in field && field.value !== value) {
      field.value = value;
      differs = true;
    }
  }
  if (differs) form.dispatchEvent(new Event("change", { bubbles: true }));
  else forget();
};
window.addEventListener("load", restore);
