// What comes next at a set-up: by the trial's plan, or by its rule. It says which arrow, never that the line is clear.

import * as queue from "./queue.js";
import * as seen from "./seen.js";

/**
 * Which arrow, by whom, with which bow, where to aim; `place` and `rev` of a planned shot. Only `wait` where nobody can
 * say yet; nothing without plan and rule. A phone that is alone goes on in the plan, but a rule must hear what came out.
 */
export function following({ id: setup, rule, plan }) {
  const loosed = [...seen.seen().shots.values()].filter((one) => !one.struck && one.said.purpose !== "let_down");
  if (rule) {
    const here = loosed.filter((one) => one.setup === setup).length;
    if (!rule.next || here > rule.loosed) return { wait: rule.next ? rule.unread : rule.wait };
    const [arrow_build, archer, bow_build] = rule.next;
    return { id: `${here} ${arrow_build}`, arrow_build, archer, bow_build, words: "By the trial’s rule" };
  }
  const gone = new Set([...loosed.map((one) => one.said.planned_shot), ...(plan || []).filter((one) => one[7]).map(([id]) => id)]);
  for (const op of queue.held()) {
    if (op.noun === "planned_shot") gone[op.body.skipped === "yes" ? "add" : "delete"](op.record_id);
  }
  const found = (plan || []).find(([id]) => !gone.has(id));
  if (!found) return plan ? { wait: "The plan is shot" } : {};
  const [id, rev, arrow_build, archer, bow_build, aim, place] = found;
  return { id, rev, arrow_build, archer, bow_build, aim, place, words: `Planned shot ${place}` };
}

/** Leave a planned shot out. */
export function skip({ id, rev, place }, skipped = "yes") {
  const words = `planned shot ${place}, ${skipped === "yes" ? "skipped" : "taken in again"}`;
  return queue.add([{ noun: "planned_shot", record_id: id, base_rev: rev, body: { skipped }, about: id, words }]);
}
