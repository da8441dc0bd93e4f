// The way in that a spot suggests: what was measured there, the panel's edge, an old hit, else the plain way of the
// construction. A person sees it proposed and picks another where it is wrong.

const REACH_M = 0.005; // of an area whose own reach nobody measured: a finger's error (common practice, no source)
const HOLE_M = 0.008; // an opened hit takes up about this much round its middle (common practice, no source)
const WAY_OF = {
  ridge: "ridge", rolled_edge: "rolled_edge", rivet: "rivet", plate_edge: "plate_edge", overlap: "overlap",
  lace_hole: "lace_hole", on_lace: "on_lace", gap: "gap", under_row: "under_row", quilting: "quilting", seam: "seam",
};

function distance(area, x, y) {
  const [ax, ay] = [area.x, area.y];
  const [bx, by] = [area.to_x ?? ax, area.to_y ?? ay];
  const length = (bx - ax) ** 2 + (by - ay) ** 2;
  const t = length ? Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length)) : 0;
  return Math.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay));
}

function toEdge(outline, spot, units) {
  const whole = outline.getTotalLength();
  let least = Infinity;
  for (let n = 0; n < 240; n += 1) {
    const point = outline.getPointAtLength((whole * n) / 240);
    least = Math.min(least, Math.hypot(point.x - spot[0], point.y - spot[1]));
  }
  return least / units;
}

/** One of the set-up's ways in, for a place in metres. `outline` and `view`: the drawn panel, if it is drawn. */
export function proposed(setup, place, hits, outline, view) {
  const near = (way, away) => ({ way, away });
  const found = [];
  for (const hit of hits) {
    const away = Math.hypot(hit.reading.x_m - place.x, hit.reading.y_m - place.y);
    const opened = Number(hit.reading.said.outcome_high ?? 0) >= 3;
    if (away <= (opened ? HOLE_M : HOLE_M / 2)) found.push(near("old_hit", away - HOLE_M)); // a hole outranks what was there before it
  }
  for (const area of setup.areas) {
    const away = distance(area, place.x, place.y);
    if (WAY_OF[area.sort] && away <= (area.reach ?? REACH_M)) found.push(near(WAY_OF[area.sort], away));
  }
  if (outline && setup.drawing) {
    const away = toEdge(outline, view(place.x, place.y), setup.drawing.units_per_m);
    if (away <= (setup.finger_m ?? REACH_M)) found.push(near("panel_edge", away));
  }
  const fitting = found.filter((one) => setup.ways.includes(one.way)).sort((a, b) => a.away - b.away);
  return fitting.length ? fitting[0].way : setup.plain_way;
}
