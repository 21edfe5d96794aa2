// SPDX-License-Identifier: MIT
// In the page: the contrast of every text that is seen, by the formula of WCAG 2.1 (relative luminance, success
// criterion 1.4.6), against the colour that is really behind it. Where a pattern lies behind it (the stripes of LIVE)
// the worst of its colours counts; opacity and layers are put together.
'use strict';
window.textContrasts = () => {
  const colour = (text) => {
    const parts = /rgba?\(([^)]*)\)/.exec(text);
    if (!parts) return null;
    const [r, g, b, a = 1] = parts[1].split(/[ ,/]+/).filter(Boolean).map(Number);
    return {r, g, b, a};
  };
  const over = (top, under) => ({
    r: top.r * top.a + under.r * (1 - top.a), g: top.g * top.a + under.g * (1 - top.a), b: top.b * top.a + under.b * (1 - top.a), a: 1,
  });
  const luminance = ({r, g, b}) => {
    const linear = (part) => { const c = part / 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
    return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  };
  const ratio = (one, other) => {
    const [dark, light] = [luminance(one), luminance(other)].sort((x, y) => x - y);
    return (light + 0.05) / (dark + 0.05);
  };
  // Every colour that may lie behind an element: its own and its ancestors', down to the first that lets nothing through.
  const papers = (element) => {
    const layers = [];
    for (let one = element; one; one = one.parentElement) {
      const style = getComputedStyle(one);
      const patterns = (style.backgroundImage.match(/rgba?\([^)]*\)/g) ?? []).map(colour);
      const base = colour(style.backgroundColor) ?? {r: 0, g: 0, b: 0, a: 0};
      layers.push([base, ...patterns.map((pattern) => (pattern.a === 0 ? base : over(pattern, base.a === 0 ? {r: 255, g: 255, b: 255, a: 1} : base)))]);
      if (base.a === 1) break;
    }
    let found = [{r: 255, g: 255, b: 255, a: 1}];
    for (const layer of layers.reverse()) found = layer.flatMap((top) => found.map((under) => over(top, under)));
    return found;
  };
  // What is drawn lies on shapes, not on backgrounds: the shapes drawn before the text, under its middle.
  const drawnPaper = (text) => {
    const box = text.getBoundingClientRect();
    const behind = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2)
      .filter((one) => one instanceof SVGGeometryElement && one.ownerSVGElement === text.ownerSVGElement);
    for (const shape of behind) {
      const fill = colour(getComputedStyle(shape).fill);
      if (fill && fill.a === 1) return [fill];
    }
    return papers(text.ownerSVGElement);
  };
  const words = ({r, g, b}) => `rgb(${r.toFixed(0)} ${g.toFixed(0)} ${b.toFixed(0)})`;
  const seen = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim();
    const element = walk.currentNode.parentElement;
    if (!text || !element || ['SCRIPT', 'STYLE', 'NOSCRIPT', 'OPTION'].includes(element.tagName)) continue;
    const range = document.createRange();
    range.selectNodeContents(walk.currentNode);
    const box = range.getBoundingClientRect();
    const style = getComputedStyle(element);
    if (box.width === 0 || style.visibility === 'hidden') continue;
    const drawn = element instanceof SVGElement;
    const ink = colour(drawn ? style.fill : style.color);
    if (!ink) continue;
    let opacity = ink.a;
    for (let one = element; one; one = one.parentElement) opacity *= Number(getComputedStyle(one).opacity);
    for (const paper of drawn ? drawnPaper(element) : papers(element)) {
      seen.push({text: text.slice(0, 40), ratio: ratio(over({...ink, a: opacity}, paper), paper), ink: words(ink), paper: words(paper)});
    }
  }
  for (const field of document.querySelectorAll('input, select')) {
    const style = getComputedStyle(field);
    for (const paper of papers(field)) seen.push({text: field.name || 'field', ratio: ratio(colour(style.color), paper), ink: words(colour(style.color)), paper: words(paper)});
  }
  return seen;
};
