/* The page's own small conveniences: light or dark, tables sorted by a heading, a group
   picked out. Without this script everything can still be read. */
(() => {
  "use strict";
  const root = document.documentElement;

  /* ---- light or dark ---- */

  const theme = document.querySelector("button.theme");
  const systemDark = matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (root.dataset.theme ?? (systemDark.matches ? "dark" : "light")) === "dark";
  const tell = () => theme.setAttribute("aria-pressed", String(isDark()));
  theme.hidden = false;
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

  /* ---- a group picked out ---- */

  const group = document.getElementById("group");
  if (group) {
    const cards = [...document.querySelectorAll(".cards > li")];
    const groupOf = new Map(
      cards.map((card) => [card.querySelector("a").getAttribute("href"), card.dataset.group]),
    );
    const others = [...document.querySelectorAll("tbody tr, .shared li")]
      .map((item) => [item, groupOf.get(item.querySelector("a")?.getAttribute("href"))])
      .filter(([, belongs]) => belongs !== undefined);
    const said = group.parentElement.querySelector("output");
    group.parentElement.hidden = false;

    group.addEventListener("change", () => {
      const wanted = group.value;
      const shown = (belongs) => !wanted || belongs === wanted;
      cards.forEach((card) => (card.hidden = !shown(card.dataset.group)));
      others.forEach(([item, belongs]) => (item.hidden = !shown(belongs)));
      for (const part of document.querySelectorAll(".shared > div")) {
        part.hidden = ![...part.querySelectorAll("li")].some((item) => !item.hidden);
      }
      said.textContent = group.dataset.filtered
        .replace("{shown}", cards.filter((card) => !card.hidden).length)
        .replace("{all}", cards.length);
    });
  }
})();
