"""Programs that look at a page in a browser: what can be read on the screen, and whether it can really be seen."""

LOOK = r"""
(() => {
  const inline = (el) => /^inline|^contents$/.test(getComputedStyle(el).display);
  const block = (el) => {
    while (inline(el) && !el.matches(".number, .letter") && el.parentElement) el = el.parentElement;
    return el;
  };
  const everyWay = {opacityProperty: true, visibilityProperty: true, contentVisibilityAuto: true};
  const seen = (el) => el.checkVisibility(everyWay);
  const rows = [];
  const wrong = [];
  const lines = [];
  const at = new Map();
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const el = node.parentElement;
    if (el.closest("script, style, title") || !seen(el)) continue;
    const home = block(el);
    const made = el.closest(".place, .log tbody"); // the program's own numbers
    if (!made && !at.has(home)) {
      at.set(home, rows.length);
      rows.push({text: "", kind: home.className || home.localName});
    }
    if (!made) rows[at.get(home)].text += node.data;
    if (!node.data.trim()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()].filter((box) => box.width > 0.5 && box.height > 0.5);
    const words = node.data.trim().slice(0, 60);
    if (!boxes.length) wrong.push(["readback/no-ink", words, "takes no room"]);
    const size = parseFloat(getComputedStyle(el).fontSize);
    if (size < 12) wrong.push(["readback/too-small", words, `is set in ${size} CSS pixels`]);
    for (const box of boxes) {
      const beyond = box.left < -1 || box.right > innerWidth + 1;
      if (beyond) wrong.push(["readback/off-sheet", words, "reaches beyond the screen"]);
    }
    el.scrollIntoView({block: "center", behavior: "instant"});
    for (const box of range.getClientRects()) {
      if (box.width < 2 || box.height < 2) continue;
      const hit = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
      const inside = box.top >= 0 && box.bottom <= innerHeight;
      if (inside && hit !== el && !el.contains(hit)) {
        wrong.push(["readback/covered", words, `is under or cut by <${hit ? hit.localName : "nothing"}>`]);
      }
    }
    lines.push(node);
  }
  for (const scroller of document.querySelectorAll(".stage")) scroller.scrollTo({top: 0, behavior: "instant"});
  scrollTo(0, 0);
  window.docgenLines = lines;
  const view = document.querySelector(".edition.shown .view.now");
  return {rows, wrong, step: view ? view.dataset.step : null};
})()
"""
"""What stands on the screen, block by block in reading order, and what of it can't be seen; scrolls to everything."""

ROOM = "(() => { const s = document.querySelector('.shown .stage'); return s.scrollHeight - s.clientHeight; })()"
"""CSS pixels by which the step is taller than its window."""

LINES = r"""
window.docgenLines.flatMap((node) => {
  const range = document.createRange();
  range.selectNodeContents(node);
  return [...range.getClientRects()].filter((b) => b.width > 1 && b.height > 1)
    .map((b) => [b.left, b.top, b.width, b.height, node.data.trim().slice(0, 60)]);
})
"""
"""Every line of words found by `LOOK`: its box in CSS pixels, and how it begins."""

PALE = r"""
(() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("* { color: transparent !important; -webkit-text-fill-color: transparent !important }");
  document.adoptedStyleSheets = [sheet];
})()
"""
"""All words without ink, until `INKED`."""
INKED = "document.adoptedStyleSheets = []"

COMPARE = r"""
(async (one, other, boxes, scale) => {
  const pixels = async (data) => {
    const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
    const bitmap = await createImageBitmap(new Blob([bytes], {type: "image/png"}));
    const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
    const context = canvas.getContext("2d", {willReadFrequently: true});
    context.drawImage(bitmap, 0, 0);
    return context.getImageData(0, 0, bitmap.width, bitmap.height);
  };
  const [a, b] = [await pixels(one), await pixels(other)];
  const linear = (c) => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const light = (d, i) => 0.2126 * linear(d[i]) + 0.7152 * linear(d[i + 1]) + 0.0722 * linear(d[i + 2]);
  return boxes.map(([left, top, width, height]) => {
    let best = 1;
    const [x0, y0] = [Math.max(0, Math.floor(left * scale)), Math.max(0, Math.floor(top * scale))];
    const [x1, y1] = [Math.min(a.width, (left + width) * scale), Math.min(a.height, (top + height) * scale)];
    for (let y = y0; y < y1; y++) {
      for (let x = x0; x < x1; x++) {
        const i = 4 * (y * a.width + x);
        if (a.data[i] === b.data[i] && a.data[i + 1] === b.data[i + 1] && a.data[i + 2] === b.data[i + 2]) continue;
        const [p, q] = [light(a.data, i), light(b.data, i)];
        best = Math.max(best, (Math.max(p, q) + 0.05) / (Math.min(p, q) + 0.05));
      }
    }
    return best;
  });
})
"""
"""Two pictures of a screen, with and without the ink of its words: the ink's greatest contrast in each box."""
