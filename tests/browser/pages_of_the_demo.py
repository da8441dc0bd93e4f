"""The pages that browser tests look at, once: where each is, and what must be there. `test_pages_of_the_demo.py` has the checks.

Every page is held to fit a phone and a desktop, to pass axe and to be usable by keyboard. What else is checked of it on an
ordinary run stands in its row; with --long every check is made of every page.
"""

from __future__ import annotations

from dataclasses import dataclass

from proofyard.wording.blunt_cautions import CAUTIONS


@dataclass(frozen=True)
class Shown:
    """One page of the demo.

    address  {…} is an id of the demo: tests/demo_for_tests.py
    folded   its folds are opened first
    lights   also in the dark and in the sun
    paper    also on paper, where all of these can be seen: selectors, or "text=…"
    gone     what paper does not have, beside keys, menus and fields
    sheets   how many of A4 that takes: at least, at most
    plain    also without script, where it says the same
    scripted it does what no page does without script, and says so there
    form     filling in is what it is for, so paper shows its fields as well
    """

    name: str
    address: str
    folded: bool = False
    lights: bool = False
    paper: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    sheets: tuple[int, int] = (1, 20)
    plain: bool = False
    scripted: bool = False
    form: bool = False


P2 = "/what-if?panel={P2}"
THIN = "/blunt?trial={thin plate}"
CAVEATS = ".caveats__one > p:first-of-type"  # folded on a screen, open on paper
ON_PAPER = (".results__finding", ".count__one", ".results__grid", ".outcome__key", ".footing p:not(.footing__leave)", CAVEATS)
NOT_ON_PAPER = (".footing__light", ".results__refresh", ".caveats__shots", "[name=edges]")
FILES = (".footing__light", ".chart__files", ".results__refresh", "[name=edges]")
PAGES = (
    Shown("home", "/", lights=True, paper=("h1", ".home__work .row", ".heads__strip", "#home-trials"), sheets=(1, 3), plain=True),
    Shown("more", "/more", lights=True, plain=True),
    Shown("methods", "/methods", plain=True),
    Shown("methods, filtered", "/methods?q=drag", plain=True),
    Shown(
        "methods of a topic", "/methods/flight", lights=True, paper=(".methods__formula",), gone=(".find", ".methods__example"), plain=True
    ),
    Shown("dictionary", "/download/dictionary", plain=True),
    Shown(
        "dictionary of a topic", "/download/dictionary/shots-target", lights=True, paper=(".download__column",), gone=(".find",), plain=True
    ),
    Shown("guide", "/guide", plain=True),
    Shown("trials", "/trials", plain=True),
    Shown("trials, filtered", "/trials?armour=mail&state=open", plain=True),
    Shown("trials, a filter that is none", "/trials?head=spoon"),
    Shown("for the report", "/trials/{thick plate}/report/fields", form=True),
    Shown("trial", "/trials/{thin plate}", folded=True, lights=True, plain=True),
    Shown("report", "/trials/{thick plate}/report", lights=True, paper=(".report__minute", ".report__sum"), sheets=(1, 3), plain=True),
    Shown("session", "/sessions/{first day}", folded=True, paper=(CAVEATS,), plain=True),
    Shown("sync card", "/sync-card", scripted=True),
    Shown("film", "/sessions/{first day}/films/{side camera}", lights=True, paper=("#film-marks",), plain=True),
    Shown("day", "/sessions/{last day}/day"),
    Shown(
        "plan",
        "/trials/{planned}/plan",
        folded=True,
        lights=True,
        paper=("text=never that you may shoot", "#plan-order .row", "#plan-drawing .panel__drawing"),
        gone=("role=heading[name=/Plan another order/]",),
    ),
    Shown("plan of a share", "/trials/{planned}/plan?share=90&other=30&width=40&shots=7", True),
    Shown("next shot", "/trials/{planned}/next", True),
    Shown("results", "/results", folded=True, lights=True, paper=ON_PAPER, gone=NOT_ON_PAPER, sheets=(1, 4), plain=True),
    Shown("results of thick plate", "/results?panel_type=plate-1.6", True),
    Shown("results of scale", "/results?panel_type=scale-1", True, lights=True),
    Shown("results of mail", "/results?panel_type=mail", True, plain=True),
    Shown("results in many bands", "/results?edges=55,+65,+75,+85,+95,+105,+115,+125"),
    Shown("shares", "/results/shares", True, paper=("#drawn-shares svg", "#drawn-outcomes svg"), gone=FILES, plain=True),
    Shown("every shot", "/results/every-shot", True, lights=True, paper=(".chart__drawing", ".outcome__key"), gone=FILES),
    Shown("depth", "/results/depth", paper=("#drawn-depth svg",), gone=FILES),
    Shown("arrows", "/results/arrows", paper=("#results-arrows-table",), gone=FILES, plain=True),
    Shown("left out", "/results/left-out", paper=("#results-left-out-part",), gone=FILES),
    Shown("table", "/results/table", paper=("#results-table-part .tally",), gone=FILES, plain=True),
    Shown("table, wrong", "/results/table?edges=low&panel_type=paper"),
    Shown("kit", "/kit", folded=True, plain=True),
    Shown("programs", "/programs", form=True),
    Shown("guide of programs", "/guide/programs"),
    Shown("guide of several groups", "/guide/groups"),
    Shown("publish", "/publish", form=True),
    Shown("groups pooled", "/pool", True, lights=True, paper=("#pool-methods",), gone=("#pool-form",), plain=True),
    Shown("groups pooled, wrong", "/pool?head=spoon&thickness_from=much"),
    Shown("share by group", "/pool?figure=share&head=needle&energy_from=60&energy_to=90"),
    Shown("guide of it, pooled", "/guide/pool"),
    Shown("other books", "/other-books", form=True, plain=True),
    Shown("other book", "/other-books/{other book}", plain=True),
    Shown("trial of another book", "/other-books/{other book}/trials/{trial of it}", lights=True, paper=(".report__shots",)),
    Shown("bring in", "/bring-in", form=True),
    Shown("parts", "/parts", lights=True, form=True),
    Shown("panel", "/panels/{P2}", lights=True, plain=True),
    Shown("combination", "/combinations/{combination}", form=True),
    Shown("speeds of several", "/combinations/several", form=True, plain=True),
    Shown("bow", "/bows/{bow}", paper=("h1",), plain=True),
    Shown("search", "/find?q=bodkin+split+plate", lights=True, plain=True),
    Shown("search, none", "/find?q=nothingsuch&only=wishes"),
    Shown("shots", "/shots?head=needle&sort=energy", lights=True, paper=("h1", ".row"), gone=("#shots-form",), plain=True),
    Shown("all photos", "/photos/all", plain=True),
    Shown("shots, wrong", "/shots?energy_from=much&page=x&panel=none"),
    Shown("shot", "/shots/{dent with a print}", folded=True, lights=True, plain=True),
    Shown("measured shot", "/shots/{measured shot}", paper=("h1",), plain=True),
    Shown("shot at scales", "/shots/{shot at scales}", paper=("h1",), plain=True),
    Shown("read again", "/shots/{dent with a print}/read-again", folded=True, form=True),
    Shown("frames", "/speeds/frames", form=True),
    Shown("sound", "/speeds/sound", form=True),
    Shown("fifty percent", "/fifty-percent", True, True),
    Shown("fifty percent by terms", "/fifty-percent?panel_type=plate-1.2&term=angle&term=near&term=way&tails=10,+50", True),
    Shown("fifty percent, wrong", "/fifty-percent?through=depth&at=nowhere&tails=all", True),
    Shown("fifty percent of one head", "/fifty-percent?head=barbed", True),
    Shown(
        "fifty percent of thin plate",
        "/fifty-percent?panel_type=plate-1.2",
        paper=(CAVEATS, ".chart__drawing", "text=Averaging limit of the standards"),
        gone=("#fifty-percent-form",),
    ),
    Shown("guide of it", "/guide/fifty-percent", True),
    Shown(
        "protection",
        "/protection",
        True,
        True,
        paper=(CAVEATS, ".chart__drawing", "#protection-panels", "#protection-layers"),
        gone=("#protection-form",),
        plain=True,
    ),
    Shown("arrow damage", "/arrow-damage", True, True, paper=(".chart__drawing",), gone=("#arrow-damage-form",), plain=True),
    Shown("arrow damage, wrong", "/arrow-damage?ended=rusted"),
    Shown("guide of arrow damage", "/guide/arrow-damage", True),
    Shown("measures", "/measures", True, True, paper=(CAVEATS, ".chart__drawing"), gone=("#measures-form",), plain=True),
    Shown("measures, wrong", "/measures?measure=colour"),
    Shown("guide of measures", "/guide/measures", True),
    Shown("protection past the body line", "/protection?through=body_line"),
    Shown("protection, wrong", "/protection?through=depth&at=nowhere"),
    Shown("guide of protection", "/guide/protection", True),
    Shown("pair", "/compare?panel_type=plate-1.2&of=needle&of=short_bodkin", lights=True),
    Shown(
        "heads compared",
        "/compare?panel_type=plate-1.2",
        paper=(CAVEATS, "#on-plate-1_2", "#compare-forest", "#on-plate-1_2-table", "#on-plate-1_2 details li"),
        gone=("[name=edges]",),
    ),
    Shown("panels compared", "/compare?by=panel&head=needle"),
    Shown("trials in counts", "/compare?by=trial"),
    Shown("wear", "/compare/wear?panel_type=plate-1.2"),
    Shown("compare, wrong", "/compare?by=colour&of=needle&edges=low"),
    Shown(
        "trials compared",
        "/trials/compare",
        lights=True,
        paper=(".trial-comparison__table",),
        gone=("#trial-comparison-filters", ".trial-comparison__jump"),
    ),
    Shown("trials compared, none there", "/trials/compare?trial=none"),
    Shown("trials compared, wrong", "/trials/compare?edges=low"),
    Shown("trials compared, alike", "/trials/compare?alike=yes&fair=any"),
    Shown("another bow", "/another-bow", plain=True),
    Shown(
        "another bow of 160 lb",
        "/another-bow?weight=160+lb&mass=80+g&distance=30+m",
        True,
        True,
        paper=("text=Never try it on anyone.", "text=Check before you trust this", ".chart__drawing", "#another-bow-own-list"),
        gone=("#another-bow-ask",),
        plain=True,
    ),
    Shown("another bow, wrong", "/another-bow?weight=strong&mass=-3&through=9"),
    Shown("guide of another bow", "/guide/another-bow", True),
    Shown("what if", P2),
    Shown("thinner plate", f"{P2}&thickness=1.0+mm", lights=True),
    Shown("two changes", f"{P2}&thickness=1.0+mm&head=short_bodkin&b_thickness=2+mm&b_angle=30"),
    Shown(
        "thinner, or at an angle",
        f"{P2}&thickness=1.0+mm&b_angle=30",
        paper=(
            "text=Never try it on anyone.",
            "text=Check before you trust this",
            "text=The rules compared",
            "text=What it rests on",
            "#what-if-chart svg",
        ),
        gone=("#what-if-ask",),
        sheets=(1, 4),
    ),
    Shown("what if, wrong", f"{P2}&thickness=much&wire=1+mm&b_layers=9"),
    Shown("what if by a model", f"{P2}&basis=model&layers=2"),
    Shown("blunt", "/blunt"),
    Shown("blunt of a trial", THIN),
    Shown("blunt of mail", "/blunt?trial={mail and scale}"),
    Shown(
        "blunt of a shot",
        THIN + "&shot={dent with a print}",
        lights=True,
        paper=("#blunt-rows", *(f"text={words}" for words in CAUTIONS)),
        gone=("#blunt-ask",),
    ),
    Shown("blunt, a width", THIN + "&shot={dent with a print}&width=60+mm&body=woman"),
    Shown("blunt, wrong", THIN + "&width=broad&body_mass=1&after=x"),
)
