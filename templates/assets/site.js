/* The page's own small conveniences: light or dark, tables sorted by a heading, a group
   picked out, two lifters side by side. Without this script everything can still be read. */
(() => {
  "use strict";
  const root = document.documentElement;

  /* ---- light or dark ---- */

  const theme = document.querySelector("button.theme");
  const systemDark = matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (root.dataset.theme ?? (systemDark.matches ? "dark" : "light")) === "dark";
  const tell = () => theme.setAttribute("aria-pressed", String(isDark()));
  tell();
  systemDark.addEventListener("change", tell);
  theme.addEventListener("click", () => {
    const chosen = isDark() ? "light" : "dark";
    root.dataset.theme = chosen;
    try {
      localStorage.setItem("profilegen-theme", chosen);
    } catch {
      /* a browser that remembers nothing still switches */
    }
    tell();
  });

  /* ---- sections below the first (site.css), when nothing else has to be done ---- */

  const unseen = [...document.querySelectorAll(".body > section + section")];
  const whenIdle = window.requestIdleCallback ?? setTimeout;
  const layOut = (idle) => {
    do {
      const section = unseen.shift();
      section?.classList.add("laid-out");
      section?.getBoundingClientRect();
    } while (unseen.length && idle?.timeRemaining() > 40);
    if (unseen.length) whenIdle(layOut);
  };
  whenIdle(layOut);

  /* ---- tables sorted by a heading ---- */

  const keyOf = (row, column) => {
    const cell = row.cells[column];
    return cell.dataset.sort ?? cell.textContent.trim();
  };
  const isNumber = (text) => text !== "" && !Number.isNaN(Number(text));

  function compare(a, b) {
    if (isNumber(a) && isNumber(b)) return Number(a) - Number(b);
    return a.localeCompare(b, root.lang);
  }

  function sort(table, heading) {
    const column = heading.cellIndex;
    const rows = [...table.tBodies[0].rows];
    const numeric = isNumber(keyOf(rows[0], column));
    const before = heading.getAttribute("aria-sort");
    // Numbers are looked at from the top, names from A.
    const first = numeric ? "descending" : "ascending";
    const second = numeric ? "ascending" : "descending";
    const order = before === first ? second : first;
    const sign = order === "ascending" ? 1 : -1;
    rows.sort((a, b) => sign * compare(keyOf(a, column), keyOf(b, column)));
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    heading.setAttribute("aria-sort", order);
    table.tBodies[0].append(...rows);
  }

  for (const table of document.querySelectorAll("table[data-sortable]")) {
    if (table.tBodies[0].rows.length < 2) continue;
    for (const heading of table.tHead.rows[0].cells) {
      if ("fixed" in heading.dataset) continue;
      const button = document.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.append(...heading.childNodes);
      button.addEventListener("click", () => sort(table, heading));
      heading.append(button);
    }
  }

  /* ---- a group or a class picked out ---- */

  const filter = document.getElementById("filter");
  if (filter) {
    const whose = (item) =>
      item.querySelector("a")?.getAttribute("href") ?? item.querySelector("h3, th")?.textContent.trim();
    const cards = [...document.querySelectorAll(".cards > li")];
    const data = new Map(cards.map((card) => [whose(card), card.dataset]));
    const items = [...document.querySelectorAll(".cards > li, .shared li, tbody tr")].filter(
      (item) => data.has(whose(item)),
    );
    const choices = [...filter.querySelectorAll("select")];
    const said = filter.querySelector("output");
    const left = (all) => all.filter((item) => !item.hidden).length;
    const count = (all) =>
      filter.dataset.filtered.replace("{shown}", left(all)).replace("{all}", all.length);
    /* What shows lifters goes with the last of them: parts of a list with their number of lifters,
       and sections with the way to them in the contents. */
    const parts = [...document.querySelectorAll(".shared > div")].map((part) => {
      const number = part.querySelector("p");
      return { part, number, everyone: number.textContent, all: [...part.querySelectorAll("li")] };
    });
    const sections = [...document.querySelectorAll(".body > section")]
      .map((section) => ({
        section,
        way: document.querySelector(`.contents a[href="#${section.id}"]`)?.parentElement,
        all: items.filter((item) => section.contains(item)),
      }))
      .filter(({ all }) => all.length);

    filter.addEventListener("change", () => {
      const shown = (item) =>
        choices.every((one) => !one.value || data.get(whose(item))[one.id] === one.value);
      items.forEach((item) => (item.hidden = !shown(item)));
      for (const { part, number, everyone, all } of parts) {
        part.hidden = !left(all);
        number.textContent = left(all) < all.length ? count(all) : everyone;
      }
      for (const { section, way, all } of sections) {
        section.hidden = !left(all);
        if (way) way.hidden = !left(all);
      }
      said.textContent = left(cards) ? count(cards) : filter.dataset.nobody;
    });
  }

  /* ---- two columns side by side ---- */

  for (const box of document.querySelectorAll(".sides")) {
    const choices = [...box.querySelectorAll("select")];
    const rows = [...box.querySelector("table").rows];
    const show = () => {
      const wanted = choices.map((choice) => Number(choice.value));
      for (const row of rows) {
        for (const cell of row.cells) cell.hidden = ![0, ...wanted].includes(columnOf.get(cell));
        // Left and right as chosen, whatever the order of the columns.
        const [left, right] = wanted.map((i) => [...row.cells].find((cell) => columnOf.get(cell) === i));
        row.append(left, right);
      }
    };
    const columnOf = new WeakMap(rows.flatMap((row) => [...row.cells].map((cell, i) => [cell, i])));
    const second = [...choices[1]].findIndex((one, i) => i > 0 && !("then" in one.dataset));
    choices[1].selectedIndex = second > 0 ? second : choices[1].length - 1;
    box.addEventListener("change", show);
    show();
  }
})();
