"""The words of this book, those of the field beside them, and where each is met. One table for the guide, the files and DEVELOPERS.md."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Term:
    """One thing: our word, what others call it, what it is, where a reader meets it, and its name in code, address and file."""

    word: str
    field: str
    means: str
    page: str
    code: str


GLOSSARY = (
    Term("shot", "shot, round", "One arrow loosed. Its label is a letter and a number (A40).", "Shots", "shot"),
    Term("loose", "shoot, release", "To let the arrow go; the big button at the line.", "At the line", "loosed"),
    Term("end", "end, flight of arrows", "The arrows shot before anybody walks forward to read them.", "At the butt", "shooting_end"),
    Term("archer", "shooter, operator", "Who loosed. The phone that recorded the shot is another thing.", "Kit", "archer"),
    Term(
        "combination", "system, launcher and projectile", "One bow, one arrow and one archer, each as built then.", "Speeds", "combination"
    ),
    Term(
        "build",
        "configuration",
        "A thing as it was until somebody changed it: new string, reground head, re-laced panel.",
        "Kit",
        "bow_build",
    ),
    Term("panel", "target, specimen", "One piece of armour, with its thickness, hardness and construction.", "Kit", "panel"),
    Term(
        "panel type",
        "construction, specimen group",
        "Panels that are built the same way and have the same garment and backing behind them.",
        "Results",
        "panel_type",
    ),
    Term(
        "stand",
        "fixture, mounting, boundary condition",
        "How the panel was held: garment, witness and backing behind it, gap, what hangs with it.",
        "Set-up",
        "stand",
    ),
    Term("witness", "witness plate", "A layer behind the panel that shows whether something came through.", "Set-up", "witness"),
    Term("backing", "backing material, clay", "What lies against the rear face in place of a body.", "Set-up", "backing"),
    Term("trial", "test series, experiment", "One question, what is varied, what is fixed, and a prediction.", "Trials", "trial"),
    Term("prediction", "hypothesis, pre-registration", "What somebody expected before the first shot.", "Plan", "prediction"),
    Term(
        "claim",
        "acceptance criterion, hypothesis under test",
        "A question that shots can settle, answered no, yes as far as asked, or not yet.",
        "Trials",
        "claim",
    ),
    Term("set-up", "test condition", "A panel on a stand at a distance, within a day of a trial.", "Session", "setup"),
    Term("at the chronograph", "launch speed, initial velocity", "Where the speed was read.", "Results", "at_chronograph"),
    Term("at the target", "impact, striking velocity and energy", "Carried through the air to the panel.", "Results", "at_target"),
    Term("nominal", "catalogue value, label value", "What the maker says; nobody measured it here.", "Kit", "nominal"),
    Term("angle from square", "obliquity, angle of incidence", "0° is square on, along the line from the panel’s face.", "Shot", "angle"),
    Term(
        "yaw",
        "yaw, angle of attack",
        "How far the shaft pointed away from its line of flight just before the hit, as an angle.",
        "Shot",
        "yaw_rad",
    ),
    Term("grains per pound (gpp)", "arrow mass over draw weight", "Grains of arrow for each pound of draw weight.", "Speeds", "gpp"),
    Term("on the panel", "valid impact location", "It landed on the panel. It may still be no fair hit.", "Shot", "on_panel"),
    Term("fair hit", "fair impact, valid hit", "Sound arrow, far enough from the edge and from earlier hits.", "Shot", "fair"),
    Term("fairness undecided", "indeterminate validity", "Place or order unknown, or nearer a limit than it was read.", "Shot", "fair"),
    Term(
        "outcome, levels 0 to 5",
        "damage level, result of the impact",
        "0 No mark, 1 Marked, 2 Dented, 3 Opened, 4 Point through, 5 Head through, at the rear face.",
        "Results",
        "outcome_level",
    ),
    Term(
        "through",
        "perforated, complete penetration, perforation",
        "At or above the level or depth that the view sets; at first level 4, the point past the rear face.",
        "Results",
        "through",
    ),
    Term("held", "stopped, partial penetration, non-perforating", "Not through, by the same setting.", "Results", "held"),
    Term(
        "share through",
        "proportion, perforation probability",
        "Of the fair hits with an outcome, how many in 100 were through.",
        "Results",
        "share",
    ),
    Term(
        "depth", "depth of penetration, residual penetration", "How far the tip got past the rear face, along the shaft.", "Shot", "depth_m"
    ),
    Term("where it went in", "impact location, point of entry", "On a plate, in an overlap, at a lace hole, in a gap.", "Shot", "entry"),
    Term("check from behind", "rear-face inspection", "Somebody still has to look at the rear face.", "Bench", "rear_check"),
    Term(
        "second reading",
        "independent reading, inter-rater check",
        "The same hit, read by somebody who had not seen the first reading.",
        "Shot",
        "second_reading",
    ),
    Term("energy band", "velocity group, bin", "Shots whose energies are close are counted together.", "Results", "band"),
    Term("uncertainty", "standard uncertainty (GUM)", "How far the true value may be from the one given.", "everywhere", "uncertainty"),
    Term(
        "95 % interval",
        "confidence interval",
        "A method that gives such intervals holds the true value 95 times in 100, for a number of shots set beforehand.",
        "everywhere",
        "interval",
    ),
    Term(
        "running bound",
        "anytime-valid confidence bound",
        "A least or greatest share that holds however often one looks as the shots go on; wider than an interval for a set number.",
        "Trial",
        "any_time_bounds",
    ),
    Term(
        "50 % energy",
        "ballistic limit V50, as an energy",
        "The energy at which half of the shots get through.",
        "50 % energy",
        "fifty_percent",
    ),
    Term(
        "energy for weight",
        "protection for areal density",
        "The 50 % energy over what a square metre of the armour weighs, in J per kg/m².",
        "Protection for weight",
        "energy_for_weight",
    ),
    Term(
        "averaging limit",
        "V50 by averaging",
        "The mean speed of the lowest that got through and the highest that were held.",
        "50 % energy",
        "ballistic_limit",
    ),
    Term(
        "up-and-down method",
        "staircase, Bruceton, Langlie kind of test",
        "Less energy after a shot that got through, more after one that held.",
        "Next shot",
        "up_and_down",
    ),
    Term(
        "smallest interval",
        "sequential D-optimal kind of design",
        "The next energy is the one that narrows the 50 % energy most.",
        "Next shot",
        "smallest_interval",
    ),
    Term(
        "blunt impact behind armour",
        "behind-armour blunt trauma (BABT)",
        "The push on whoever would stand behind armour that held.",
        "Blunt",
        "blunt",
    ),
    Term(
        "back face",
        "back-face deformation, signature",
        "How far the panel’s rear face was pushed in, read in the backing.",
        "Shot",
        "back_face_m",
    ),
    Term("crossed out", "voided, withdrawn", "A wrong entry that stays readable, with a reason, and counts nowhere.", "Notebook", "voided"),
    Term("correction", "revision, amendment", "What was typed wrong is put right; the notebook keeps both.", "Notebook", "revision"),
    Term("caveat", "limitation, threat to validity", "What this result can’t carry, and why.", "Results", "caveat"),
    Term(
        "what if",
        "scaling, extrapolation",
        "The 50 % energy carried to other armour or another bow by published rules.",
        "What if",
        "what_if",
    ),
    Term(
        "another bow",
        "prediction, extrapolation",
        "What a bow that nobody has shot would do: speed, energy and share, from the bows that were shot.",
        "Another bow",
        "another_bow",
    ),
    Term(
        "arrow damage",
        "projectile damage, tool life",
        "What became of heads and shafts, and how many shots a head lasts.",
        "Arrow damage",
        "arrow_damage",
    ),
    Term(
        "measure",
        "explanatory variable, covariate",
        "What can be measured of a head, such as its tip, edge or width, and may explain what gets through.",
        "Measures",
        "measures",
    ),
    Term(
        "follow-up",
        "replication, next series",
        "A trial that takes over what another asked, with something changed.",
        "Trials",
        "follow_up",
    ),
)
