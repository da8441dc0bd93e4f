"""Contrast as a browser draws it: WCAG 2.2's formula (success criteria 1.4.3, 1.4.6 and 1.4.11) on computed colours.

ratio = (L1 + 0.05) / (L2 + 0.05), L the relative luminance of the lighter and of the darker colour
"""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

# Every piece of text in sight, and the edge of every control, each with its contrast against what lies behind it.
_SHOOTING_END = """() => {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 1;
  const brush = canvas.getContext('2d', { willReadFrequently: true });
  const parsed = (text) => {
    brush.clearRect(0, 0, 1, 1);
    brush.fillStyle = text;
    brush.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = brush.getImageData(0, 0, 1, 1).data;
    return [r, g, b, a / 255];
  };
  const over = (top, under) => [0, 1, 2].map((n) => top[n] * top[3] + under[n] * (1 - top[3])).concat(1);
  const behind = (one) => {
    const layers = [];
    for (let at = one; at; at = at.parentElement) layers.push(parsed(getComputedStyle(at).backgroundColor));
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255, 1]);
  };
  // In a drawing: what was filled before and lies under the middle of the words.
  const drawnUnder = (one, ground) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    const [middle, half] = [x + width / 2, y + height / 2];
    for (const shape of one.closest('svg').querySelectorAll('rect')) {
      if (!(shape.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING)) break;
      const box = shape.getBoundingClientRect();
      const fill = getComputedStyle(shape).fill;
      if (fill !== 'none' && box.left <= middle && middle <= box.right && box.top <= half
        && half <= box.bottom) ground = over(parsed(fill), ground);
    }
    return ground;
  };
  const light = (colour) => {
    const part = (value) => (value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part(colour[0]) + 0.7152 * part(colour[1]) + 0.0722 * part(colour[2]);
  };
  const ratio = (one, other) => {
    const [high, low] = [light(one), light(other)].sort((a, b) => b - a);
    return (high + 0.05) / (low + 0.05);
  };
  const faded = (one) => {
    for (let at = one; at; at = at.parentElement) if (getComputedStyle(at).opacity !== '1') return true; return false; };
  const inSight = (one) => one.getClientRects().length && one.checkVisibility({ visibilityProperty: true })
    && !one.closest('.tools-unseen, [aria-hidden=true], .layout__skip');
  const texts = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const one = node.parentElement;
    if (!node.textContent.trim() || !inSight(one)) continue;
    const style = getComputedStyle(one);
    const ground = one.closest('svg') ? drawnUnder(one, behind(one)) : behind(one);
    const ink = over(parsed(one.closest('svg') ? style.fill : style.color), ground);
    texts.push({ what: node.textContent.trim().slice(0, 40), ratio: ratio(ink, ground), faded: faded(one) });
  }
  const edges = [];
  for (const one of document.querySelectorAll('button, input, select, textarea, label.choice__item, label.outcomes__item, a.button')) {
    if (!inSight(one) || one.matches('label > input')) continue;
    const style = getComputedStyle(one);
    if (style.borderTopStyle === 'none' || parseFloat(style.borderTopWidth) === 0) continue;
    const ground = behind(one.parentElement);
    const edge = over(parsed(style.borderTopColor), ground);
    if (parsed(style.borderTopColor)[3] === 0) continue;
    edges.push({ what: (one.textContent.trim() || one.name).slice(0, 40),
      ratio: Math.max(ratio(edge, ground), ratio(behind(one), ground)) });
  }
  return { texts, edges };
}"""


def measured(page: Page) -> dict[str, list[dict[str, Any]]]:
    """texts and edges, each with `what` it is and its `ratio`."""
    found: dict[str, list[dict[str, Any]]] = page.evaluate(_SHOOTING_END)
    return found


def below(found: list[dict[str, Any]], least: float) -> list[str]:
    return [f"{one['what']!r}: {one['ratio']:.2f}" for one in found if one["ratio"] < least or one.get("faded")]
