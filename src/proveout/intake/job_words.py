"""The words of the job file and of the order file."""

from __future__ import annotations

from proveout.intake.inspection_words import INSPECTION
from proveout.intake.kit_words import BAG, KIT
from proveout.intake.money_words import DEMAND, SELLING
from proveout.intake.shop_words import Section
from proveout.intake.toml_words import Word

GENERAL = Word(
    stem="general_tolerance",
    text="class of ISO 2768-1 for what carries no size of its own",
    kind="choice",
    choices=("f", "m", "c", "v"),
)
EDGE_BREAK = Word(
    stem="edge_break", text="edges broken all round", measure="length", low=0.0, high=5.0, field="edge_break_mm"
)
STEP_MAX = Word(
    stem="step_max", text="largest step allowed where one clamping cuts on from another; without it the general "
    "tolerance is the limit", measure="length", low=0.0, high=5.0, field="step_max_mm",
)  # fmt: skip
BOW_MAX = Word(
    stem="bow_max", text="largest bow of the finished part allowed", measure="length", low=0.0, high=10.0,
    field="bow_max_mm",
)  # fmt: skip
CUSP = Word(
    stem="cusp", text="height of the ridges that a ball may leave between two lines on sloping and curved faces",
    measure="length", low=0.001, high=0.015, field="cusp_mm",
)  # fmt: skip
COATED = Word(
    stem="coated", text="whether the part is coated, as [coat] then says; what is only assumed here gives way to it",
    kind="flag",
)  # fmt: skip
JOB_TOP = Section(name="", text="the job", words=(GENERAL, EDGE_BREAK, STEP_MAX, BOW_MAX, CUSP, COATED))

PART = Section(
    name="part",
    text="what is made",
    must=True,
    words=(
        Word(stem="number", text="part number", kind="text", must=True),
        Word(stem="name", text="name of the part", kind="text", default="", quiet=True),
        Word(stem="revision", text="revision of the design", kind="text", default="-"),
        Word(
            stem="step", text="STEP file of the finished solid, beside this file or by its path", kind="text", must=True
        ),
        Word(stem="solid", text="name of the solid, when the file has several", kind="text", default="", quiet=True),
        Word(stem="alloy", text="alloy and temper", kind="text", default="6061-T6"),
    ),
)

ORDER = Section(
    name="order",
    text="how many and when",
    must=True,
    words=(
        Word(stem="quantity", text="good pieces wanted", kind="count", low=1, high=1_000_000, must=True),
        Word(stem="start", text="first day of work", kind="date", default="", quiet=True),
        Word(stem="due", text="day on which they are wanted", kind="date", default="", quiet=True),
        Word(
            stem="trial_count",
            text="blanks sawn beside pieces and spares to prove the programs",
            kind="count",
            low=0,
            high=1000,
            default=0,
            quiet=True,
        ),
        Word(stem="spare", text="pieces sawn more than wanted", kind="count", low=0, high=100_000, field="spare_count"),
    ),
)

COAT = Section(
    name="coat",
    text="the outside coat",
    words=(
        Word(stem="process", text="what the finisher calls it", kind="text", must=True),
        Word(
            stem="thickness", text="thickness on each surface", kind="fact", measure="length", low=0.0, high=0.5,
            field="thickness_mm", must=True, origin="job-file",
        ),
        Word(
            stem="build_up_share", text="share of the thickness that grows outward", kind="fact", measure="ratio",
            low=0.0, high=1.0, field="build_up_ratio", must=True, origin="job-file",
        ),
        Word(stem="finisher", text="id of the finisher in the shop file", kind="text", default="", quiet=True),
        Word(stem="blast", text="blasted before the coat", kind="flag", default=False),
        Word(
            stem="etch", text="metal that the etch before the coat takes off each surface", kind="fact",
            measure="length", low=0.0, high=0.2, field="etch_mm", origin="job-file",
        ),
        Word(stem="certificate", text="a certificate is wanted from the finisher", kind="flag"),
        Word(
            stem="spec", text="specification of the coat, with its type and class", kind="text", default="", quiet=True
        ),
        Word(stem="colour", text="colour of the coat", kind="text", default="", quiet=True),
        Word(stem="seal", text="how the coat is sealed, or that it is not", kind="text", default="", quiet=True),
    ),
)  # fmt: skip
BLIND = Section(
    name="coat.blind",
    text="how much of the thickness comes in blind holes",
    is_list=True,
    words=(
        Word(
            stem="from_depth", text="diameters deep from which on it holds", low=0.0, high=50.0, must=True,
            field="from_depth_ratio",
        ),
        Word(
            stem="share", text="share of the thickness outside", kind="fact", measure="ratio", low=0.0, high=1.0,
            must=True, field="share_ratio", origin="job-file",
        ),
    ),
)  # fmt: skip

BALLOON_LIST = Word(stem="balloons", text="balloon numbers", kind="counts", low=1, high=9999, default=[], quiet=True)
SHOW = Section(
    name="show",
    text="faces that the customer sees",
    words=(
        BALLOON_LIST,
        Word(stem="faces", text="faces by id", kind="texts", default=[], quiet=True),
    ),
)
MASKED = Section(name="masked", text="what stays free of the coat", words=(BALLOON_LIST,))
CRITICAL = Section(name="critical", text="sizes whose failure could hurt someone", words=(BALLOON_LIST,))
OUTSIDE = Section(
    name="outside",
    text="other work done outside",
    words=(
        Word(
            stem="finishers", text="ids of finishers in the shop file, in order", kind="texts", default=[], quiet=True
        ),
    ),
)
MARKING = Section(
    name="outside.marking",
    text="what an outside finisher marks on the part, such as its number, and on which face",
    is_list=True,
    words=(
        Word(stem="text", text="what is marked, word for word, or the name of its drawing", kind="text", must=True),
        Word(
            stem="finisher", text="id of the finisher who marks it; without it the only one of [outside]", kind="text",
            default="", quiet=True,
        ),
        Word(stem="faces", text="the face by its id; of several each gets it", kind="texts", default=[], quiet=True),
        BALLOON_LIST,
        Word(
            stem="where", text="place on the face and which way it reads", kind="text", default="", quiet=True,
        ),
        Word(
            stem="height", text="height of the letters or the figure", measure="length", low=0.1, high=500.0,
            field="height_mm",
        ),
    ),
)  # fmt: skip
PINS = Section(
    name="pins",
    text="what the owner fixes; the rest is planned around it",
    words=(
        Word(stem="bar", text="id of the bar", kind="text"),
        Word(stem="machine", text="id of the machine of every operation", kind="text"),
        Word(
            stem="machines", text="ids of the machines, one an operation in order", kind="texts", default=[], quiet=True
        ),
        Word(stem="vise", text="id of the vise of the first operation", kind="text"),
        Word(stem="jaws", text="id of the jaws of the first operation", kind="text"),
        Word(
            stem="up", text="side of the part that looks up first", kind="choice",
            choices=("+x", "-x", "+y", "-y", "+z", "-z"),
        ),
        Word(
            stem="ups", text='sides that look up, one an operation in order: ["+z", "-z"]', kind="texts", default=[],
            quiet=True,
        ),
        Word(
            stem="tilts", text='sides that the cutter may come from beside the one that looks up; ["none"] for none',
            kind="texts", default=[], quiet=True,
        ),
        Word(
            stem="pieces_a_cycle", text="pieces that each cycle gives on machines without rotary axes", kind="count",
            low=1, high=24,
        ),
        Word(
            stem="side_by_side", text="whether clampings of the part that follow each other on one machine lie side by "
            "side on its table", kind="flag",
        ),
        Word(
            stem="torque", text="torque at the handle of every vise, which the plan then keeps; what the jaws "
            "then press with tells the vise's chart alone", measure="torque", low=1.0, high=500.0,
        ),
    ),
)  # fmt: skip

AS_BOUGHT = Section(
    name="as_bought",
    text="sides of the part that stay as bar or saw left them",
    words=(
        Word(
            stem="sides", text='sides in the axes of the solid, as ["-y", "+y", "-z"]', kind="texts", default=[],
            quiet=True,
        ),
    ),
)  # fmt: skip

PROVE_OUT = Section(
    name="prove_out",
    text="what was run dry before the first piece",
    words=(
        Word(
            stem="tilts_dry_run", text="when and by whom every tilt was run dry with the zero lifted", kind="text",
            default="", quiet=True,
        ),
        Word(
            stem="tilts_mark", text="mark of the moves that were run, printed with their proof", kind="text",
            default="", quiet=True,
        ),
    ),
)  # fmt: skip

WALL = Section(
    name="prove_out.wall",
    text="walls before hollows, read on the first piece after every pass of an operation: an indicator on each while "
    "the vise is closed and opened, the greatest reading",
    words=(
        Word(stem="operation", text="number of the operation", kind="count", low=1, high=99, must=True),
        Word(
            stem="bent", text="how far a wall goes in while the vise is closed", measure="length", low=0.0, high=5.0,
            must=True, field="bent_mm",
        ),
        Word(
            stem="stays", text="how much of that stays once it is open", measure="length", low=0.0, high=5.0, must=True,
            field="stays_mm",
        ),
        Word(
            stem="uncertainty", text="of the indicator, half width at k = 2", measure="length", low=0.0005, high=0.1,
            must=True, field="uncertainty_mm",
        ),
        Word(stem="by", text="when and by whom", kind="text", must=True),
        Word(stem="mark", text="mark of vise, grip and moves, printed with their proof", kind="text", must=True),
    ),
)  # fmt: skip

# keys of these two are balloon numbers
SIZES = Section(name="sizes", text='what is written beside a balloon: 7 = "H8"', words=())
BALLOONS = Section(name="balloons", text="face or hole of each balloon; written by the draft", words=())
# its keys are numbers of clampings
MARKS = Section(
    name="marks",
    text='how the work is marked before a clamping, and where the mark lies when it is loaded rightly: 2 = "pen stroke '
    'on the strip, at the stop"',
    words=(),
)  # fmt: skip
SOLID = Section(
    name="solid",
    text="the solid that the job was drafted for, so that its faces are known again wherever it lies; written by the "
    "draft",
    words=(Word(stem="faces", text="its faces, a line each", kind="texts", default=[], quiet=True),),
)
NUMBERED = (SIZES, BALLOONS, MARKS)

JOB_SECTIONS = (
    JOB_TOP, PART, ORDER, COAT, BLIND, SIZES, BALLOONS, MASKED, SHOW, CRITICAL, INSPECTION, OUTSIDE, MARKING,
    AS_BOUGHT, PINS, MARKS, PROVE_OUT, WALL, KIT, BAG, SELLING, DEMAND, SOLID,
)  # fmt: skip

ORDER_TOP = Section(
    name="",
    text="an order of several parts",
    words=(
        Word(stem="name", text="name of the order", kind="text", must=True),
        Word(stem="start", text="first day of work", kind="date", default="", quiet=True),
        Word(stem="due", text="day on which all are wanted", kind="date", default="", quiet=True),
        Word(
            stem="blanks",
            text="whether blanks that cost the order less are planned again and taken",
            kind="choice",
            choices=("alone", "together"),
            default="alone",
            quiet=True,
        ),
    ),
)
ITEM = Section(
    name="item",
    text="one part of the order",
    is_list=True,
    must=True,
    words=(
        Word(stem="job", text="job file, beside this file or by its path", kind="text", must=True),
        Word(stem="quantity", text="good pieces wanted", kind="count", low=1, high=1_000_000, must=True),
        Word(stem="start", text="first day of work", kind="date", default="", quiet=True),
        Word(stem="due", text="day on which they are wanted", kind="date", default="", quiet=True),
        Word(
            stem="same_coat_load", text="items with the same word here ride in one coat load", kind="text",
            field="coat_load", default="", quiet=True,
        ),
    ),
)  # fmt: skip
FIT = Section(
    name="fit",
    text="two parts of the order that go together once both are coated",
    is_list=True,
    words=(
        Word(stem="name", text="what must go together", kind="text", must=True),
        Word(
            stem="sizes", text='the size that goes around and the one inside, by part and balloon: ["A 3", "B 1"]',
            kind="texts", default=[], quiet=True,
        ),
        Word(
            stem="faces", text="two flat faces that face each other, likewise; with gap_mm", kind="texts", default=[],
            quiet=True,
        ),
        Word(
            stem="gap", text="gap between the faces as drawn, by the tolerances of both parts, without the coat",
            kind="fact", measure="length", low=-10.0, high=100.0, field="gap_mm", origin="job-file",
        ),
        Word(
            stem="clearance_low", text="least clearance wanted, below 0 for an interference", measure="length",
            low=-10.0, high=100.0, field="clearance_low_mm", must=True,
        ),
        Word(
            stem="clearance_high", text="most clearance wanted", measure="length", low=-10.0, high=100.0,
            field="clearance_high_mm", must=True,
        ),
    ),
)  # fmt: skip
ORDER_SECTIONS = (ORDER_TOP, ITEM, FIT)

SIZE_FORM_WORDS = (
    '"H8", "20 G7", "h6", "M6 6H", "1/4-20 UNC-2B", "18 ±0.05", "18 +0.05/-0.02", "12 ±0.1 deep", "R4 ±0.2", '
    '"2 x 45°", "20° ±0.5°", "Ra 1.6", "edge -0.3", "mask" or one of them with mask behind it; '
    'several sizes of one hole parted by semicolons, each with its diameter, such as "20 H8 mask; M5 6H"'
)
