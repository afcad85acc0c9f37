// What a page has to have for everyone who reads it, beside the rules of the open checker axe.
// Takes {least, colours}: the smallest text allowed, CSS pixels, and whether to look at colours too.
// Gives a list of findings, each "rule: where".
(asked) => {
  const found = [];
  const tell = (rule, where) => found.push(`${rule}: ${where}`);
  const seen = (e) => e.getClientRects().length > 0 && getComputedStyle(e).visibility === "visible";
  const all = (css, root = document) => [...root.querySelectorAll(css)];
  const words = (e) => (e ? e.textContent.replace(/\s+/g, " ").trim() : "");
  const short = (text) => (text.length > 60 ? `${text.slice(0, 57)}...` : text);
  const numbers = (text) => text.match(/\d[\d,.]*\d|\d/g) ?? [];
  const drawings = all("svg").filter(seen);
  const drawn = (svg) => all("text", svg).filter((t) => !t.closest('[id*="matplotlib.axis"]'));

  const language = () => {
    try {
      if (Intl.getCanonicalLocales(document.documentElement.lang).length === 1) return;
    } catch { /* told below */ }
    tell("language", `"${document.documentElement.lang}" is none`);
  };

  const headings = () => {
    const ranks = all("h1, h2, h3, h4, h5, h6").filter(seen).map((h) => [Number(h.tagName[1]), h]);
    const first = ranks.filter(([rank]) => rank === 1);
    if (first.length !== 1) tell("one first heading", `${first.length} of them`);
    ranks.forEach(([rank, h], i) => {
      const before = i ? ranks[i - 1][0] : 0;
      if (rank > before + 1) tell("heading jumps", `${h.tagName} "${short(words(h))}"`);
      if (!words(h)) tell("heading without words", h.tagName);
    });
  };

  const tables = () => {
    for (const table of all("table").filter(seen)) {
      const name = short(words(table.caption));
      if (!name) tell("table without caption", short(words(table)));
      for (const th of all("th", table)) {
        const told = ["col", "row", "colgroup", "rowgroup"].includes(th.scope) || th.headers;
        if (!told) tell("heading cell without scope", `${name}, "${words(th)}"`);
        if (!words(th)) tell("heading cell without words", name);
      }
      if (!all("th[scope=col]", table).length) tell("table without column names", name);
      for (const row of all("tbody tr", table))
        if (!row.querySelector("th")) tell("row without name", `${name}, "${short(words(row))}"`);
      columnNames(table, name);
    }
  };

  // Where the head of a table is not shown, each cell has to say its column.
  const columnNames = (table, name) => {
    if (!table.tHead || all("th", table.tHead).some(seen)) return;
    for (const cell of all("tbody td", table).filter((c) => seen(c) && words(c))) {
      const said = getComputedStyle(cell, "::before").content;
      if (/^(none|normal|"")$/.test(said)) tell("cell without its column", `${name}, "${short(words(cell))}"`);
    }
  };

  const charts = () => {
    for (const svg of drawings) {
      const name = svg.classList[0] ?? "a drawing";
      if (svg.getAttribute("role") !== "img") tell("chart is no picture to a reader", name);
      const parts = (svg.getAttribute("aria-labelledby") ?? "").split(/\s+/);
      const [title, said] = parts.map((id) => words(id && document.getElementById(id)));
      if (!title) tell("chart without title", name);
      if (!said) tell("chart without description", name);
      const known = numbers(`${title} ${said}`);
      for (const text of drawn(svg))
        for (const n of numbers(words(text)))
          if (!known.some((k) => rounds(k, n))) tell("number drawn but not described", `${name}, "${words(text)}"`);
      ownNumbers(svg, name, said ?? "");
    }
  };

  // What is drawn may be what is said, rounded.
  const rounds = (said, shown) => {
    const [exact, rough] = [said, shown].map((n) => Number(n.replaceAll(",", "")));
    const places = (shown.split(".")[1] ?? "").length;
    return said === shown || Math.abs(exact - rough) <= 0.5 * 10 ** -places + 1e-9;
  };

  // A description has no number that neither the chart shows nor the page tells; of many points or
  // a line of months it alone says the ends.
  const ownNumbers = (svg, name, told) => {
    const said = /^(index|course)-/.test(name) ? "" : told.replace(/\b(lowest|highest) [\d,.]+/g, "");
    const page = new Set(numbers(outside));
    const chart = new Set(drawn(svg).flatMap((t) => numbers(words(t))));
    for (const n of new Set(numbers(said)))
      if (!page.has(n) && !chart.has(n)) tell("number described but told nowhere", `${name}, ${n}`);
  };

  const written = () => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const out = [];
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
      const e = node.parentElement;
      if (node.data.trim() && seen(e) && !e.closest("title, desc, style, script")) out.push([e, node.data]);
    }
    return out;
  };
  const texts = written();
  const outside = texts.filter(([e]) => !e.closest("svg")).map(([, text]) => text).join(" ");

  const sizes = () => {
    const small = new Map();
    for (const [e, text] of texts) {
      const m = e.closest("svg") ? e.getScreenCTM() : null;
      const scale = m ? Math.hypot(m.a, m.b) : 1;
      const size = parseFloat(getComputedStyle(e).fontSize) * scale;
      if (size >= asked.least - 0.02) continue;
      const where = (e.closest("svg")?.classList[0] ?? e.closest("[class]")?.className ?? e.tagName) || e.tagName;
      if (!small.has(where)) small.set(where, [size, text]);
    }
    for (const [where, [size, text]] of small)
      tell("text too small", `${where}, ${(size * 0.75).toFixed(1)} pt, "${short(text.trim())}"`);
  };

  const boxed = (e) => {
    for (let up = e.parentElement; up; up = up.parentElement)
      if (/auto|scroll/.test(getComputedStyle(up).overflowX)) return true;
    return false;
  };

  const edges = () => {
    const root = document.documentElement;
    if (root.scrollWidth > innerWidth) tell("page wider than the window", `by ${root.scrollWidth - innerWidth} px`);
    for (const e of all("body *")) {
      if (!seen(e) || e.closest("svg")) continue;
      const style = getComputedStyle(e);
      const wide = e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0;
      if (wide && /auto|scroll/.test(style.overflowX)) reachable(e);
      if (wide && /hidden|clip/.test(style.overflowX)) tell("text cut off", short(words(e)));
      if (e.getBoundingClientRect().right > innerWidth + 1 && !boxed(e)) tell("sticks out", `${e.tagName} "${short(words(e))}"`);
    }
    for (const svg of drawings) {
      const frame = svg.getBoundingClientRect();
      for (const text of all("text", svg)) {
        const box = text.getBoundingClientRect();
        if (box.left < frame.left - 2 || box.right > frame.right + 2) tell("text cut off", `${svg.classList[0]}, "${words(text)}"`);
      }
    }
  };

  // What scrolls sideways has to be reached and named without a mouse.
  const reachable = (box) => {
    if (box.tabIndex < 0) tell("scroll box out of reach of the keyboard", short(words(box)));
    const named = box.getAttribute("aria-label") || box.getAttribute("aria-labelledby");
    if (!named || !box.getAttribute("role")) tell("scroll box without role and name", short(words(box)));
  };

  const channels = (colour) => (colour.match(/[\d.]+/g) ?? []).map(Number);
  const luminance = (colour) => {
    const [r, g, b] = channels(colour).map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (one, other) => {
    const [dark, light] = [luminance(one), luminance(other)].sort((a, b) => a - b);
    return (light + 0.05) / (dark + 0.05);
  };

  // Text on the ground that it stands on: large letters may be fainter.
  const grounds = () => {
    for (const [e, text] of texts) {
      const style = getComputedStyle(e);
      const drawing = e.closest("svg");
      let ground = drawing ?? e;
      while (ground && getComputedStyle(ground).backgroundColor === "rgba(0, 0, 0, 0)") ground = ground.parentElement;
      const under = ground ? getComputedStyle(ground).backgroundColor : "rgb(255, 255, 255)";
      const size = parseFloat(style.fontSize);
      const large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
      if (contrast(drawing ? style.fill : style.color, under) < (large ? 3 : 4.5))
        tell("text too faint", `${drawing?.classList[0] ?? e.className}, "${short(text.trim())}"`);
    }
  };

  // A mark needs one colour at least that stands out from the paper.
  const faint = (svg, used) => {
    const coloured = used.filter((c) => c !== "none" && contrast(c, "rgb(255, 255, 255)") > 1.05);
    if (coloured.length && coloured.every((c) => contrast(c, "rgb(255, 255, 255)") < 3))
      tell("mark too faint", `${svg.classList[0]}, ${coloured.join(" ")}`);
  };

  // Marks of one shape, filling and line whose colours are one in grey.
  const colours = () => {
    if (!asked.colours) return;
    for (const svg of all("svg")) {
      const kinds = new Map();
      for (const mark of all("path, use, rect, circle, polygon", svg)) {
        if (mark.closest("defs, clipPath, pattern") || mark.closest('[id*="matplotlib.axis"]')) continue;
        const style = getComputedStyle(mark);
        const target = mark.getAttribute("href") && document.querySelector(mark.getAttribute("href"));
        const pattern = /url\("?(#[^")]+)/.exec(style.fill)?.[1];
        const tile = pattern && document.querySelector(pattern);
        const shape = target ? target.getAttribute("d") : mark.tagName === "circle" ? "circle" : "bar";
        const hatch = tile ? all("path", tile).map((p) => p.getAttribute("d")).join() : "";
        faint(svg, [style.stroke, tile ? getComputedStyle(all("path", tile).at(-1)).stroke : style.fill]);
        const line = style.fill === "none" ? `${style.strokeDasharray} ${style.strokeWidth}` : "";
        const colour = tile ? getComputedStyle(all("path", tile).at(-1)).stroke : line ? style.stroke : style.fill;
        if (colour === "none") continue;
        const kind = [shape, hatch, line].join("|");
        kinds.set(kind, (kinds.get(kind) ?? new Set()).add(colour));
      }
      for (const set of kinds.values()) {
        const list = [...set];
        list.forEach((one, i) => list.slice(i + 1).forEach((other) => {
          if (contrast(one, other) < 1.25) tell("told by colour alone", `${svg.classList[0]}, ${one} and ${other}`);
        }));
      }
    }
  };

  [language, headings, tables, charts, sizes, edges, grounds, colours].forEach((look) => look());
  return [...new Set(found)];
}
