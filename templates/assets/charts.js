/* Turns drawn charts into interactive ones at the reader's first sign of interest.

   Until then, and without this script, the drawing and its table say everything. plotly.js
   is fetched once: from the file that this script element names in data-plotly, or from the
   page itself (element #plotly-gz: base64 of gzip). The plots stand in the page beside their
   drawings, or where data-charts says: in a script file of their own or, after "#", packed in
   an element of the page. A figure's data-state is "loading",
   "live" or "failed"; without one it shows its drawing. */
(() => {
  "use strict";
  const root = document.documentElement;
  const { plotly: plotlyFile, charts: specsFile } = document.currentScript.dataset;
  const charts = () => document.querySelectorAll("figure[data-chart]");
  /* figure -> {spec, plot, size: as drawn, at: stepped to, asked, hidden: groups} */
  const live = new Map();
  let library = null;

  /* What all charts share: the same as in profilegen/report/plot.py (a test compares them).
     Without these settings plotly offers to send a lifter's data to a server. */
  const COMMON = {
    "layout": {
      "font": {
        "family": "inherit",
        "size": 13.5,
        "color": "@ink-soft"
      },
      "paper_bgcolor": "rgba(0,0,0,0)",
      "plot_bgcolor": "rgba(0,0,0,0)",
      "hovermode": "closest",
      "hoverdistance": 24,
      "hoverlabel": {
        "bgcolor": "@surface",
        "bordercolor": "@line-strong",
        "font": {
          "color": "@ink"
        },
        "align": "left"
      },
      "dragmode": false,
      "showlegend": false,
      "barmode": "overlay",
      "template": {
        "layout": {
          "xaxis": {
            "fixedrange": true,
            "zeroline": false,
            "automargin": false,
            "tickangle": 0,
            "ticklabeloverflow": "allow",
            "gridcolor": "@line",
            "tickcolor": "@line"
          },
          "yaxis": {
            "fixedrange": true,
            "zeroline": false,
            "automargin": false,
            "tickangle": 0,
            "ticklabeloverflow": "allow",
            "gridcolor": "@line",
            "tickcolor": "@line"
          },
          "annotationdefaults": {
            "xref": "paper",
            "yref": "paper",
            "yanchor": "middle",
            "showarrow": false,
            "font": {
              "color": "@ink-soft"
            }
          }
        }
      }
    },
    "config": {
      "showSendToCloud": false,
      "plotlyServerURL": "",
      "displaylogo": false,
      "displayModeBar": false,
      "responsive": false,
      "showTips": false,
      "doubleClick": "reset"
    }
  };

  /* ---- plotly.js ---- */

  function run(script) {
    document.head.append(script);
    return script;
  }

  function fetched(file) {
    return new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.onload = resolve;
      script.onerror = reject;
      script.src = file;
      run(script);
    });
  }

  async function inflated(element) {
    const text = element.textContent.trim();
    const bytes = Uint8Array.fromBase64
      ? Uint8Array.fromBase64(text)
      : Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).text();
  }

  async function unpacked(place) {
    window.chartSpecs = JSON.parse(await inflated(document.querySelector(place)));
  }

  function loaded() {
    library ??= (async () => {
      const specs = specsFile && (specsFile[0] === "#" ? unpacked(specsFile) : fetched(specsFile));
      const packed = document.getElementById("plotly-gz");
      if (packed) {
        const script = document.createElement("script");
        script.textContent = await inflated(packed);
        run(script);
      } else {
        await fetched(plotlyFile);
      }
      await specs;
      if (!window.Plotly) throw new Error("plotly.js did not start");
      charts().forEach((figure) => near.observe(figure));
    })();
    return library;
  }

  function specOf(figure) {
    const inPage = figure.querySelector(".chart-spec");
    return inPage ? JSON.parse(inPage.textContent) : window.chartSpecs[figure.id.slice("chart-".length)];
  }

  /* ---- a spec, made ready for this moment's theme and size ---- */

  const GROWS = new Set(["l", "r", "t", "b", "size", "standoff", "ticklabelstandoff", "ticklabelshift", "yshift"]);

  function merged(base, over) {
    const plain = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
    const result = { ...base };
    for (const [name, value] of Object.entries(over)) {
      result[name] = plain(value) && plain(base[name]) ? merged(base[name], value) : value;
    }
    return result;
  }

  function ready(value, key, scale, style) {
    if (Array.isArray(value)) return value.map((entry) => ready(entry, key, scale, style));
    if (value !== null && typeof value === "object") {
      return Object.fromEntries(
        Object.entries(value).map(([name, entry]) => [name, ready(entry, name, scale, style)]),
      );
    }
    if (typeof value === "string" && value[0] === "@" && key.endsWith("color")) {
      return style.getPropertyValue("--" + value.slice(1)).trim();
    }
    if (typeof value === "number" && GROWS.has(key)) {
      return key.startsWith("ticklabel") ? Math.round(value * scale) : value * scale;
    }
    return value;
  }

  /* The drawing in sight; none inside closed details. */
  function shown(figure) {
    const both = figure.querySelectorAll(".still-wide, .still-narrow");
    return [...both].find((svg) => svg.getBoundingClientRect().width > 0);
  }

  function figureNow(figure, { spec, hidden }) {
    const drawn = shown(figure);
    const { width, height } = drawn.getBoundingClientRect();
    const scale = width / drawn.viewBox.baseVal.width;
    const style = getComputedStyle(figure);
    const narrow = drawn.classList.contains("still-narrow");
    const wide = merged(COMMON.layout, spec.layout);
    const layout = ready(narrow ? merged(wide, spec.narrow) : wide, "", scale, style);
    const data = ready(spec.data, "", scale, style);
    for (const trace of data) {
      trace.visible = !hidden.has(trace.legendgroup);
      if (narrow && trace.type === "bar") trace.width *= spec.narrow_bars;
    }
    layout.font.family = style.fontFamily;
    if (matchMedia("(pointer: coarse)").matches) {
      // A finger on a chart scrolls the page.
      layout.dragmode = false;
      layout.xaxis.fixedrange = true;
    }
    return {
      data,
      layout: { ...layout, width, height, autosize: false, uirevision: "kept" },
      config: COMMON.config,
    };
  }

  /* ---- drawing ---- */

  async function draw(figure) {
    if (live.has(figure)) return;
    const state = { spec: null, plot: document.createElement("div"), size: "", at: -1, asked: false, hidden: hiddenIn(figure) };
    live.set(figure, state);
    figure.dataset.state = "loading";
    try {
      await loaded();
      state.spec = specOf(figure);
      state.plot.className = "chart-live";
      figure.querySelector(".chart-box").append(state.plot);
      await redraw(figure, state);
      document.getElementById("js-plotly-tester")?.setAttribute("aria-hidden", "true");
      state.plot.on("plotly_relayout", (change) => zoomed(state, change));
      state.plot.on("plotly_click", ({ points }) => follow(points[0].customdata));
      legendOf(figure).querySelectorAll("span.chart-key[data-group]").forEach(arm);
      new ResizeObserver(() => redraw(figure, state)).observe(figure);
      show(figure, true);
    } catch {
      figure.dataset.state = "failed"; // the drawing stays
    }
  }

  async function redraw(figure, state, force = false) {
    if (matchMedia("print").matches || !shown(figure)) return;
    const now = figureNow(figure, state);
    const size = now.layout.width + " " + now.layout.height;
    if (size === state.size && !force) return;
    state.size = size;
    await window.Plotly.react(state.plot, now.data, now.layout, now.config);
  }

  function show(figure, interactive) {
    if (interactive) figure.dataset.state = "live";
    else delete figure.dataset.state;
    figure.querySelector(".chart-explore").setAttribute("aria-pressed", String(interactive));
    if (!interactive) {
      live.get(figure).asked = false;
      figure.querySelector(".chart-readout").textContent = "";
    }
  }

  /* Small charts side by side have one legend before them, and hide and show alike:
     their box -> hidden groups. */
  const together = new Map();
  const familyOf = (figure) => figure.closest(".multiples");
  const legendOf = (figure) => familyOf(figure)?.previousElementSibling ?? figure;

  function hiddenIn(figure) {
    const family = familyOf(figure);
    if (!family) return new Set();
    if (!together.has(family)) together.set(family, new Set());
    return together.get(family);
  }

  /* A legend entry becomes a button of the same size that shows and hides its group. */
  function arm(key) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = key.className;
    button.dataset.group = key.dataset.group;
    button.setAttribute("aria-pressed", "true");
    button.append(...key.childNodes);
    key.replaceWith(button);
  }

  function toggle(button) {
    const legend = button.closest("figure") ?? button.closest(".chart-keys");
    const figures = [...live.keys()].filter((figure) => legendOf(figure) === legend);
    const { hidden } = live.get(figures[0]);
    const group = button.dataset.group;
    if (!hidden.delete(group)) hidden.add(group);
    button.setAttribute("aria-pressed", String(!hidden.has(group)));
    for (const figure of figures) {
      const state = live.get(figure);
      if (!state.size) continue; // still on its way; it will be drawn as all others
      show(figure, true);
      redraw(figure, state, true);
    }
  }

  function zoomed(state, change) {
    const range = change["xaxis.range"] ?? [change["xaxis.range[0]"], change["xaxis.range[1]"]];
    if (!range[0] || state.plot.layout.xaxis.type !== "date") return;
    const whole = String(range) === String(state.spec.layout.xaxis.range);
    window.Plotly.relayout(state.plot, {
      "xaxis.tickmode": whole ? "array" : "auto",
      "xaxis.tickformat": "%Y-%m-%d",
      "xaxis.nticks": 4,
    });
  }

  function follow(href) {
    if (typeof href !== "string" || !href) return;
    const url = new URL(href, document.baseURI);
    if (url.protocol === location.protocol) location.assign(url);
  }

  /* ---- the keyboard: arrow keys on the button step through the values ---- */

  function spots(plot) {
    return plot.data.flatMap((trace, curveNumber) =>
      trace.hoverinfo === "text" && trace.visible !== false
        ? trace.hovertext.map((text, pointNumber) => ({ curveNumber, pointNumber, text }))
        : [],
    );
  }

  function step(figure, by) {
    const state = live.get(figure);
    const all = spots(state.plot);
    if (!all.length) return;
    state.at = (state.at + by + all.length) % all.length;
    const { curveNumber, pointNumber, text } = all[state.at];
    const { xaxis, yaxis } = state.plot._fullData[curveNumber];
    const subplot = xaxis && yaxis ? xaxis + yaxis : "xy";
    window.Plotly.Fx.hover(state.plot, [{ curveNumber, pointNumber }], subplot);
    figure.querySelector(".chart-readout").textContent = text
      .replaceAll("<br>", " · ")
      .replaceAll("&lt;", "<")
      .replaceAll("&gt;", ">")
      .replaceAll("&amp;", "&");
  }

  function hint(figure) {
    const words = figure.querySelector(".chart-explore").dataset.hint;
    figure.querySelector(".chart-readout").textContent = words;
  }

  /* ---- signs of interest ---- */

  const near = new IntersectionObserver(
    (entries) => entries.filter((e) => e.isIntersecting).forEach((e) => draw(e.target)),
    { rootMargin: "300px 0px" },
  );

  const figureOf = (event, where) => event.target.closest?.(where)?.closest("figure[data-chart]");

  document.addEventListener("pointerover", (event) => {
    if (event.pointerType === "touch") return; // may be scrolling; a tap clicks
    const figure = figureOf(event, ".chart-box, .chart-explore");
    if (figure) draw(figure);
  });

  document.addEventListener("focusin", (event) => {
    const figure = figureOf(event, ".chart-explore");
    if (!figure) return;
    if (event.target.matches(":focus-visible")) hint(figure);
    draw(figure);
  });

  document.addEventListener("click", (event) => {
    const key = event.target.closest?.("button.chart-key");
    if (key) return toggle(key);
    const button = figureOf(event, ".chart-explore");
    const figure = button ?? figureOf(event, ".chart-box");
    if (!figure) return;
    const state = live.get(figure);
    if (!state) {
      draw(figure);
    } else if (figure.dataset.state !== "live") {
      if (state.size) show(figure, true);
    } else if (button && state.asked) {
      show(figure, false);
      return;
    }
    if (!button) return;
    // Pointing at the button already drew the chart; the first click must not undo that.
    live.get(figure).asked = true;
    hint(figure);
  });

  document.addEventListener("keydown", (event) => {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const figure = by && figureOf(event, ".chart-explore");
    if (!figure || figure.dataset.state !== "live") return;
    event.preventDefault();
    step(figure, by);
  });

  /* ---- the theme ---- */

  function recolour() {
    live.forEach((state, figure) => state.size && redraw(figure, state, true));
  }
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recolour);
  new MutationObserver(recolour).observe(root, { attributeFilter: ["data-theme"] });

  root.classList.add("charts-ready");
})();
