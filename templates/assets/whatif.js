/* What if: sliders over the map embedded in the page (report/sections_whatif.py says what is in
   it, engine/what_if.py what is computed). Lifts follow each other; qualities push lifts. */
(() => {
  "use strict";
  const Q = 6;
  const LIMITING = ["snatch", "clean", "jerk"];
  const sum = (values) => values.reduce((a, b) => a + b, 0);
  const dot = (a, b) => sum(a.map((value, i) => value * b[i]));

  /* The limiting answer (6: even) and the total, kg, of one draw. */
  function answer(map, draw) {
    const [s, c, j] = LIMITING.map((lift) => map.lifts.indexOf(lift));
    const load = (lift, quality) => map.load[lift][quality];
    const total = (up) =>
      Math.exp(draw[Q + s] + up(s)) +
      Math.exp(Math.min(draw[Q + c] + up(c), draw[Q + j] + up(j)));
    const now = total(() => 0);
    const all = sum(draw.slice(0, Q));
    let most = 0;
    let which = Q;
    for (let k = 0; k < Q; k++) {
      const lift = Math.max((all - draw[k]) / (Q - 1) - draw[k], 0);
      const gain = total((row) => lift * load(row, k)) - now;
      if (gain > most) [most, which] = [gain, k];
    }
    return [most < map.min * now ? Q : which, now];
  }

  /* Where everything stands with `held` [lift's row, kg] and `shift` by quality. */
  function moved(map, held, shift) {
    const step = [...shift, ...map.load.map((row) => dot(row, shift))];
    let move = (draw) => draw;
    if (held) {
      const column = Q + held[0];
      const value = Math.log(held[1]) - step[column];
      move = (draw) => draw.map((one, i) => one + map.gain[held[0]][i] * (value - draw[column]));
    }
    const after = (draw) => move(draw).map((one, i) => one + step[i]);
    const results = map.draws.map((draw) => answer(map, after(draw)));
    const chances = [...map.unseen];
    results.forEach(([which], i) => (chances[which] += map.weights[i]));
    return {
      kg: after(map.mean).slice(Q).map(Math.exp),
      total: map.total + sum(results.map(([, kg]) => kg)) / results.length - map.totalOfDraws,
      chances,
    };
  }

  function read(text) {
    const map = JSON.parse(text);
    const columns = map.mean.length;
    const draws = [];
    for (let at = 0; at < map.draws.length; at += columns) {
      const away = map.draws.slice(at, at + columns);
      draws.push(map.mean.map((mean, i) => mean + away[i] * (i < Q ? 1e-3 : 1e-4)));
    }
    map.draws = draws;
    const today = draws.map((draw) => answer(map, draw));
    const count = new Array(Q + 1).fill(0);
    today.forEach(([which]) => count[which]++);
    map.weights = today.map(([which]) => map.chances[which] / count[which]);
    map.unseen = map.chances.map((chance, i) => (count[i] ? 0 : chance));
    map.totalOfDraws = sum(today.map(([, kg]) => kg)) / today.length;
    return map;
  }

  function start(box) {
    const map = read(box.querySelector("script").textContent);
    const sliders = [...box.querySelectorAll("input")];
    const qualities = sliders.slice(0, Q);
    const lifts = sliders.slice(Q);
    const output = (id) => box.querySelector(`output[for~="${id}"]`);
    const [total, limiter] = box.querySelectorAll(".what-if-results output");
    const number = (value, step) => {
      const near = Math.sign(value) * Math.floor(Math.abs(value) / step + 0.5 + 1e-9) * step;
      return String(Math.round(near * 10) / 10 || 0).replace("-", "−").replace(".", map.mark);
    };
    const signed = (value, step) => {
      const text = number(value, step);
      return text === "0" || text.startsWith("−") ? text : `+${text}`;
    };
    const load = (kg) => number(kg * map.perKg, map.step) + map.unit;
    /* What the page was built with: it stands there whenever nothing is moved. */
    const today = new Map([...box.querySelectorAll("output")].map((said) => [said, said.textContent]));
    let held = null;
    let still = true;

    const say = (said, text, value) => {
      said.textContent = still ? today.get(said) : text;
      said.dataset.value = value;
    };
    const tell = (slider, text, value) => {
      const said = output(slider.id);
      say(said, text, value);
      slider.setAttribute("aria-valuetext", said.textContent);
    };

    function show() {
      const shift = qualities.map((slider) => Number(slider.value));
      const now = moved(map, held, shift);
      still = !held && shift.every((by) => by === 0);
      qualities.forEach((slider, k) => tell(slider, signed(shift[k], 0.1), shift[k]));
      lifts.forEach((slider, i) => {
        if (!held || held[0] !== i) slider.value = now.kg[i] * map.perKg;
        tell(slider, load(now.kg[i]), now.kg[i]);
      });
      const first = now.chances.indexOf(Math.max(...now.chances));
      const gain = number(now.total * map.perKg, map.step);
      const before = number(map.total * map.perKg, map.step);
      const change = signed(
        Number(gain.replace(map.mark, ".")) - Number(before.replace(map.mark, ".")),
        map.step,
      );
      say(total, change === "0" ? gain + map.unit : `${gain + map.unit} (${change})`, now.total);
      const firstNow = map.pattern
        .replace("{answer}", map.answers[first])
        .replace("{chance}", map.ten[Math.floor(10 * now.chances[first] + 0.5 + 1e-9)]);
      say(limiter, firstNow, now.chances);
    }

    qualities.forEach((slider) => slider.addEventListener("input", show));
    lifts.forEach((slider, i) =>
      slider.addEventListener("input", () => {
        held = [i, Number(slider.value) / map.perKg];
        show();
      }),
    );
    box.querySelector("button").addEventListener("click", () => {
      held = null;
      qualities.forEach((slider) => (slider.value = 0));
      show();
    });
    show();
    box.querySelector(".what-if-still").hidden = true;
    box.querySelector(".what-if-moving").hidden = false;
  }

  document.querySelectorAll(".what-if").forEach(start);
})();
