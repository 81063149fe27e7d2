/* What a reader's eyes meet on a page, measured: run in the page by tests/browser/survey.py.

   contrast: every text whose colour is too close to what is behind it (WCAG 2.2, success
   criterion 1.4.3: 4.5 to 1, and 3 to 1 for large text), in SVG too, where checkers do not
   look. Relative luminance and contrast ratio as defined there.
   small: every text shown under 11 px.
   overhang: how far the page could be scrolled sideways, and what sticks out. */
(() => {
  const canvas = Object.assign(document.createElement("canvas"), { width: 1, height: 1 });
  const brush = canvas.getContext("2d", { willReadFrequently: true });
  const known = new Map();

  /* Any CSS colour as [r, g, b, alpha], 0 to 1; the browser itself translates it. */
  function rgba(colour) {
    if (!known.has(colour)) {
      brush.clearRect(0, 0, 1, 1);
      brush.fillStyle = "#000";
      brush.fillStyle = colour;
      brush.fillRect(0, 0, 1, 1);
      known.set(colour, [...brush.getImageData(0, 0, 1, 1).data].map((part) => part / 255));
    }
    return known.get(colour);
  }

  const over = ([r, g, b, a], [R, G, B]) => [r * a + R * (1 - a), g * a + G * (1 - a), b * a + B * (1 - a), 1];

  function luminance([r, g, b]) {
    const linear = (part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  }

  function ratio(one, other) {
    const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a);
    return (light + 0.05) / (dark + 0.05);
  }

  /* What is behind an element: backgrounds from the page up, each over the one before. */
  function ground(element) {
    const layers = [];
    for (let at = element; at; at = at.parentElement) {
      const colour = rgba(getComputedStyle(at).backgroundColor);
      if (colour[3] > 0) layers.push(colour);
      if (colour[3] === 1) break;
    }
    return layers.reduceRight((below, layer) => over(layer, below), [1, 1, 1, 1]);
  }

  /* Shapes of a drawing that lie under a text; where there is a halo, the halo. */
  function grounds(text) {
    const style = getComputedStyle(text);
    if (style.stroke !== "none" && parseFloat(style.strokeWidth) >= 3) return [rgba(style.stroke)];
    const paper = ground(text.ownerSVGElement);
    const box = text.getBBox();
    const found = [paper];
    for (const shape of text.ownerSVGElement.querySelectorAll("path, rect, circle")) {
      if (text.compareDocumentPosition(shape) & Node.DOCUMENT_POSITION_FOLLOWING) continue;
      const { fill, fillOpacity, opacity } = getComputedStyle(shape);
      if (fill === "none") continue;
      const [r, g, b, alpha] = rgba(fill);
      const colour = [r, g, b, alpha * fillOpacity * opacity];
      for (const share of [0.05, 0.5, 0.95]) {
        const spot = new DOMPoint(box.x + share * box.width, box.y + box.height / 2);
        if (shape.isPointInFill(spot)) found.push(over(colour, paper));
      }
    }
    return found;
  }

  const shown = (element) =>
    element.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: false }) &&
    element.getClientRects().length > 0;

  const where = (element) => {
    const part = element.closest("[id]");
    return `${element.tagName.toLowerCase()}.${element.getAttribute("class") ?? ""} in #${part?.id ?? ""}`;
  };

  function texts(contrasts) {
    const found = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const words = walker.currentNode.textContent.trim();
      const element = walker.currentNode.parentElement;
      if (!words || element.closest("script, style, noscript, option") || !shown(element)) continue;
      const style = getComputedStyle(element);
      if (parseFloat(style.fontSize) === 0) continue; // a word that only readers aloud get
      const svg = element.ownerSVGElement;
      found.push({
        words,
        element,
        colour: rgba(svg ? style.fill : style.color),
        behind: !contrasts ? [] : svg ? grounds(element) : [ground(element)],
        pixels: parseFloat(style.fontSize) * (svg ? svg.getScreenCTM().a : 1),
        bold: parseInt(style.fontWeight) >= 700,
      });
      for (const place of ["::before", "::after"]) {
        const pseudo = getComputedStyle(element, place);
        if (contrasts && /^"\S+"/.test(pseudo.content) && pseudo.display !== "none") {
          found.push({
            words: pseudo.content,
            element,
            colour: rgba(pseudo.color),
            behind: [ground(element)],
            pixels: parseFloat(pseudo.fontSize),
            bold: false,
          });
        }
      }
    }
    return found;
  }

  window.looks = (contrasts = true) => {
    const root = document.documentElement;
    const all = texts(contrasts);
    const contrast = [];
    for (const { words, element, colour, behind, pixels, bold } of all) {
      const least = pixels >= 24 || (bold && pixels >= 18.66) ? 3 : 4.5;
      const worst = Math.min(...behind.map((one) => ratio(over(colour, one), one)));
      if (worst < least) contrast.push(`${worst.toFixed(2)} "${words.slice(0, 40)}" ${where(element)}`);
    }
    const sideways = root.scrollWidth - root.clientWidth;
    return {
      texts: all.length,
      contrast,
      small: all
        .filter(({ pixels }) => pixels < 10.99)
        .map(({ words, element, pixels }) => `${pixels.toFixed(1)} px "${words.slice(0, 40)}" ${where(element)}`),
      overhang:
        sideways <= 0
          ? []
          : [`${sideways} px`].concat(
              [...document.body.querySelectorAll("*")]
                .filter((one) => one.getBoundingClientRect().right > root.clientWidth + 1)
                .slice(0, 4)
                .map(where),
            ),
    };
  };
})();
