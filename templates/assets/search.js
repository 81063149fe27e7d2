/* A large squad searched from disk: window.roster comes from roster.js, a script beside the page.
   Every word typed must begin a word of the name, the group or the class; accents do not count. */
addEventListener("DOMContentLoaded", () => {
  "use strict";
  const form = document.getElementById("search");
  if (!form || !Array.isArray(window.roster)) return;
  const MOST = 50;
  const field = form.querySelector("input");
  const said = form.querySelector("output");
  const list = form.querySelector("ul");
  const plain = (text) =>
    text.normalize("NFKD").replace(/\p{M}/gu, "").toLocaleLowerCase(document.documentElement.lang);
  const all = window.roster.map(([name, href, ...more]) => ({
    name,
    href,
    more: more.filter(Boolean).join(" · "),
    words: ` ${plain([name, ...more].join(" "))}`,
  }));

  const item = (one) => {
    const entry = document.createElement("li");
    const name = document.createElement(one.href ? "a" : "span");
    if (one.href) name.href = one.href;
    name.textContent = one.name;
    const more = document.createElement("small");
    more.textContent = one.more;
    entry.append(name, " ", more);
    return entry;
  };

  const search = () => {
    const wanted = plain(field.value).split(/\s+/).filter(Boolean);
    const found = wanted.length
      ? all.filter((one) => wanted.every((word) => one.words.includes(` ${word}`)))
      : [];
    const shown = found.slice(0, MOST);
    list.replaceChildren(...shown.map(item));
    said.textContent = wanted.length
      ? form.dataset.found.replace("{shown}", shown.length).replace("{all}", found.length)
      : "";
  };

  form.hidden = false;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    list.querySelector("a")?.click();
  });
  field.addEventListener("input", search);
  search(); // a browser may have kept what was typed
});
