"""What is claimed of a pocket in soft jaws before it is replayed: reach, walls, slug and step."""

from __future__ import annotations

from proveout.model.jaw_form import JawForm
from proveout.model.proof import Basis, Proof, Sense, prove
from proveout.model.shop import Jaws
from proveout.model.work import Clamping
from proveout.stages.passes.jaw_reliefs import with_reliefs
from proveout.stages.passes.jaw_shape import TOUCH_MM, Array, area_of_form
from proveout.stages.passes.view import BODY_GAP_MM

STAGE = "jaw forms"
WALL_LEAST_MM = 5.0
SLUG_LEAST_MM = 6.0
CONTACT_RATIO = 0.5
"""Common practice, no source: least wall behind and beside a pocket, least height of the slug's seat in the jaws, and
least share of the work's length between the outermost places where it touches the step."""
PRACTICE = "workshop-practice"


def unknown_proof(clamping: Clamping, jaws: Jaws, outline: tuple[Array, ...]) -> Proof:
    """Without the size of the soft jaws nothing is planned: not shown, and blocking nothing by itself."""
    missing = [
        key
        for key, size in (
            ("blank_thickness_mm", jaws.blank_thickness_mm), ("blank_height_mm", jaws.blank_height_mm)
        )
        if size is None
    ]  # fmt: skip
    decides = f"{' and '.join(missing)} of the jaws {jaws.id} in the shop file" if missing else "a mesh that closes"
    if not missing and not outline:
        decides = "work that stands between the seat and the jaw tops"
    return prove(
        id=f"{STAGE}:{clamping.id}:pocket", stage=STAGE, subject=f"clamping {clamping.number}",
        claim="the pocket in the soft jaws is planned", sense="at least", found_low=None, found_high=None, limit=1.0,
        unit="yes = 1", blocks_release=False,
        basis=Basis(formula="the size of the soft jaws, and what stands in them", source="shop-file"),
        decides=decides,
    )  # fmt: skip


def wall_left_mm(form: JawForm) -> float:
    """Least metal behind the pocket and, where it ends within the jaws, beside it; below 0 when it breaks out."""
    area = area_of_form(form)
    if form.reliefs:
        area = area + with_reliefs(area, form.reliefs, radius_mm=form.cutter_radius_mm, within_mm=0.0)
    x_low, y_low, x_high, y_high = area.bounds()
    (_, _, _, behind), (_, before, _, _) = form.jaw_bounds_mm
    left = [behind - y_high, y_low - before]
    left += [end for end in (x_low - form.low_mm, form.high_mm - x_high) if end > 0.0]
    return round(min(left), 6)


def form_proofs(form: JawForm) -> tuple[Proof, ...]:
    """The proofs of one form."""
    proofs: list[Proof] = []

    def add(
        slug: str, claim: str, sense: Sense, found: float | None, limit: float, unit: str, formula: str, *,
        source: str = "own-algorithm", blocks: bool = True, remedy: str,
    ) -> None:  # fmt: skip
        proofs.append(
            prove(
                id=f"{STAGE}:{form.clamping_id}:{slug}", stage=STAGE, subject=f"clamping {form.clamping.number}, jaws",
                claim=claim, sense=sense, found_low=found, found_high=found, limit=limit, unit=unit,
                blocks_release=blocks, basis=Basis(formula=formula, source=source), remedy=remedy,
            )
        )  # fmt: skip

    add("reach", "an end mill reaches the step of the pocket with its flutes, its holder above the jaws", "at least",
        1.0 if form.cutter_id else 0.0, 1.0, "yes = 1",
        f"flutes at least the pocket's depth long, {form.depth_mm:g} mm; {BODY_GAP_MM:g} mm of air below the holder; "
        "no corner radius; corners passed by reliefs",
        remedy="an end mill with longer flutes that fits the pocket")  # fmt: skip
    add("wall", "enough of each jaw stays behind and beside the pocket", "at least", wall_left_mm(form),
        WALL_LEAST_MM, "mm", "thickness of the jaw, less bite and reliefs; at an end within the jaw, what is left of "
        "its length. Limit: common practice, no source", source=PRACTICE,
        remedy="thicker or longer soft jaws")  # fmt: skip
    add("slug", "the slug has a seat in the jaws below the pocket", "at least",
        round(form.below_mm - form.slug_below_mm, 6), SLUG_LEAST_MM, "mm",
        f"height of the soft jaw, less the pocket's depth and {form.slug_below_mm:g} mm of air. Limit: common "
        "practice, no source", source=PRACTICE, remedy="higher soft jaws")  # fmt: skip
    add("step", "the work touches the step of the pocket along the jaws", "at least",
        round(form.contact_mm / form.length_mm, 4) if form.length_mm > 0.0 else None, CONTACT_RATIO,
        "of its length", f"span along the jaws of what lies within {TOUCH_MM:g} mm of the step, over the jaws' bite. "
        "Limit: common practice, no source", source=PRACTICE, blocks=False,
        remedy="a step cut to the underside of the work")  # fmt: skip
    proofs.append(
        prove(
            id=f"{STAGE}:{form.clamping_id}:loads", stage=STAGE, subject=f"clamping {form.clamping.number}, jaws",
            claim="cutter, spindle and the grip on the slug stand the forces of cutting the pocket", sense="at least",
            found_low=None, found_high=None, limit=1.0, unit="times the cutting force", blocks_release=False,
            basis=Basis(formula="not reckoned: the jaws are of another metal than the work", source="own-algorithm"),
            decides="the alloy of the soft jaws, and friction between jaws and slug",
        )
    )  # fmt: skip
    return tuple(proofs)
