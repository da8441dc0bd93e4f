// What comes next at a set-up: by the trial's plan, or by its rule. It says which arrow, never that the line is clear.

import * as queue from "./queue.js";
import * as seen from "./seen.js";
import { inchPound } from "./words.js";

const MOST_NAMED = 2; // planned shots that wait for their arrows, named on the line

/**
 * Which arrow, by whom, with which bow, where to aim; `place` and `rev` of a planned shot; `words` for the line, `otherwise`
 * where something else was picked by hand, and `change` if another bow than the last is to be taken up. Only `wait` where nobody can say yet; nothing without plan and rule.
 * A phone that is alone goes on in the plan, but a rule must hear what came out.
 */
export function following({ id: setup, rule, plan }) {
  const loosed = [...seen.seen().shots.values()].filter((one) => !one.voided && one.said.purpose !== "let_down");
  const here = loosed.filter((one) => one.setup === setup);
  if (rule) return byRule(rule, here);
  return plan ? byPlan(plan, new Set(loosed.map((one) => one.said.planned_shot)), here) : {};
}

function byRule(rule, here) {
  if (!rule.next || here.length > rule.loosed) return { wait: rule.next ? rule.unread : rule.wait };
  const [arrow_build, archer, bow_build] = rule.next;
  const arrow = arrowOf(arrow_build);
  if (!arrow || arrow.state === "not_sound") return { wait: rule.not_sound };
  const who = whoAndBow(archer, bow_build);
  return { id: `${here.length} ${rule.next.join(" ")}`, arrow_build, archer, bow_build, words: `By the trial’s rule: ${who}`, otherwise: `The trial’s rule says arrow ${arrow.tag}, ${who}`, change: change(here, bow_build), waiting: rule.why ? `(${rule.why})` : "" };
}

function byPlan(plan, done, here) {
  const said = ahead();
  const open = plan.filter((one) => !done.has(one[0]) && !(said.get(one[0])?.skipped ?? Boolean(one[7])));
  const at = open.findIndex(([, , build]) => (arrowOf(build)?.state ?? "not_sound") !== "not_sound");
  const waits = (at < 0 ? open : open.slice(0, at)).map(([, , build, , , , place, , tag]) => `Planned shot ${place} waits: ${waitsFor(arrowOf(build), tag)}.`);
  const waiting = [...waits.slice(0, MOST_NAMED), ...(waits.length > MOST_NAMED ? [`${waits.length - MOST_NAMED} more wait.`] : [])].join(" ");
  if (at < 0) return { wait: waiting || "Every planned shot is done" };
  const [id, rev, arrow_build, archer, bow_build, aim_mm, place, , tag, , aim_in] = open[at];
  const aim = (inchPound() && aim_in) || aim_mm;
  const who = whoAndBow(archer, bow_build);
  return {
    id, rev: Math.max(rev, said.get(id)?.rev ?? 0), arrow_build, archer, bow_build, aim, place, waiting, change: change(here, bow_build),
    words: `Planned shot ${place}${who ? `: ${who}` : ""}`, otherwise: `Planned shot ${place} is ${[`arrow ${tag}`, who].filter(Boolean).join(", ")}`,
  };
}

const arrowOf = (build) => seen.seen().arrows.find((one) => one.build === build);
const waitsFor = (arrow, tag) => (arrow ? `arrow ${arrow.tag} is not sound` : `arrow ${tag} has been retired or rebuilt`);
const nameOf = (archer) => seen.seen().told.archers.find((one) => one.id === archer)?.name ?? "";

function bowWords(build) {
  const bow = seen.seen().told.bows.find((one) => one.build === build);
  if (!bow) return "";
  return bow.weight ? `${bow.weight}\u00a0lb bow` : bow.name;
}

const whoAndBow = (archer, bow_build) => [nameOf(archer), bowWords(bow_build)].filter(Boolean).join(", ");

/** "not the 82 lb bow used before": a bow that changes by itself on the page is still in somebody's hand. */
function change(here, bow_build) {
  const last = [...here].sort((a, b) => (a.said.loosed_at || 0) - (b.said.loosed_at || 0)).at(-1);
  const [now, before] = [bowWords(bow_build), last ? bowWords(last.said.bow_build) || last.bow : ""];
  return now && before && now !== before ? `not the ${before} used before` : "";
}

/** Of each planned shot, what this phone said of it that the book's last word does not hold yet, and up to which revision. */
function ahead() {
  const said = new Map();
  for (const op of seen.notHeardBack()) {
    if (op.noun === "planned_shot") said.set(op.record_id, { skipped: op.body.skipped === "yes", rev: op.answer?.rev ?? 0 });
  }
  return said;
}

/** A plan's spots as [number in its ring, metres right, metres up], but for those skipped. */
export const spotsOf = ({ plan }) => (plan || []).filter((one) => !one[7] && one[9]).map((one) => one[9]);

/** Leave a planned shot out. */
export function skip({ id, rev, place }, skipped = "yes") {
  const words = `planned shot ${place}, ${skipped === "yes" ? "skipped" : "taken in again"}`;
  return queue.add([{ noun: "planned_shot", record_id: id, base_rev: rev, body: { skipped }, about: id, words }]);
}
