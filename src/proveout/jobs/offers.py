"""What may be tried on a planned part: the keys of its files that a plan hangs on, in words, with what they say now."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from typing import Any

import tomlkit

from proveout.intake import job_words, shop_words
from proveout.intake.toml_words import Word, unit_words, wanted
from proveout.jobs.changed_files import OwnFile
from proveout.model.changes import ChangedFile, Offer, Step
from proveout.model.plan import Plan
from proveout.model.shop import Shop

OF_VISE = ("torque", "preload", "rating")
OF_JAWS = ("friction", "grip")
OF_CUTTER = (
    "tooth_feed", "chip_low", "cutting_speed", "cutting_speed_low", "axial_max", "radial_max", "stick_out", "speed_max",
    "life", "price",
)  # fmt: skip
OF_MACHINE = ("speed_max", "power", "feed_max", "rate_per_h", "setup")
OF_BAR = ("price_per_kg",)
OF_COAT = ("thickness", "build_up_share", "etch", "finisher", "blast")
OF_ITEM = ("quantity", "start", "due")
GROUPS_OF_LISTS = (("vise", OF_VISE, shop_words.VISE.words), ("jaws", OF_JAWS, shop_words.JAWS.words),
                   ("machine", OF_MACHINE, shop_words.MACHINE.words))  # fmt: skip
ROWS = (("crib", "cutter", OF_CUTTER, shop_words.CUTTER.words), ("rack", "bar", OF_BAR, shop_words.BAR.words))


def offers_of(plan: Plan, files: dict[ChangedFile, OwnFile], shop: Shop) -> tuple[Offer, ...]:
    """All that is offered, the likeliest first; any other key may be named freely."""
    raw = {kind: tomllib.loads(file.text) for kind, file in files.items()}
    found: list[Offer] = []
    is_inch = shop.units == "inch"
    if "order" in raw:
        found += _of_order(raw["order"], plan, files["order"])
    if "job" in raw:
        found += _of_job(raw["job"], shop, has_order="order" in raw, is_inch=is_inch)
    return (*found, *_of_shop(raw["shop"], plan, is_inch=is_inch))


def _of_order(raw: dict[str, Any], plan: Plan, file: OwnFile) -> list[Offer]:
    """Quantity and days of this part's item, and of the whole order."""
    jobs = [item.get("job", "") for item in raw.get("item", [])]
    at = next((k for k, job in enumerate(jobs) if _number_of(file, job) == plan.part.number), None)
    own = [] if at is None else _words(
        "this part in the order", "order", ("item", at), raw["item"][at],
        (w for w in job_words.ITEM.words if w.stem in OF_ITEM), is_inch=False,
    )  # fmt: skip
    dates = (w for w in job_words.ORDER_TOP.words if w.stem in OF_ITEM)
    return [*own, *_words("the whole order", "order", (), raw, dates, is_inch=False)]


def _number_of(file: OwnFile, job: str) -> str:
    """Part number of a job file beside an order file."""
    try:
        told = tomllib.loads((file.path.parent / job).read_text("utf-8"))
    except (OSError, ValueError):
        return ""
    return str(told.get("part", {}).get("number", ""))


def _of_job(raw: dict[str, Any], shop: Shop, *, has_order: bool, is_inch: bool) -> list[Offer]:
    found: list[Offer] = []
    if not has_order:
        order = job_words.ORDER.words
        found += _words("the order", "job", ("order",), raw.get("order", {}), order, is_inch=is_inch)
    ids = {
        "bar": [bar.id for bar in shop.bars], "machine": [one.id for one in shop.machines],
        "vise": [one.id for one in shop.vises], "jaws": [one.id for one in shop.jaws],
    }  # fmt: skip
    pins = _words("pins", "job", ("pins",), raw.get("pins", {}), job_words.PINS.words, is_inch=is_inch, choices=ids)
    found += sorted(pins, key=lambda offer: offer.path[-1] != "torque_n_m")
    if "coat" in raw:
        coat = (w for w in job_words.COAT.words if w.stem in OF_COAT)
        finishers = {"finisher": [one.id for one in shop.finishers]}
        found += _words("the coat", "job", ("coat",), raw["coat"], coat, is_inch=is_inch, choices=finishers)
    found += [
        Offer(
            group="sizes", text=f"what is written at number {number}", unit="", file="job", path=("sizes", number),
            present=literal(text), wanted=job_words.SIZE_FORM_WORDS, may_go=True,
        )
        for number, text in raw.get("sizes", {}).items()
    ]  # fmt: skip
    return [*found, *_words("the part", "job", (), raw, job_words.JOB_TOP.words, is_inch=is_inch)]


def _of_shop(raw: dict[str, Any], plan: Plan, *, is_inch: bool) -> list[Offer]:
    """Of machines, vises, jaws, cutters and bars those that the plan uses."""
    used: dict[str, list[str]] = {
        "vise": [c.vise_id for c in plan.clampings], "jaws": [c.jaws_id for c in plan.clampings],
        "machine": [c.machine_id for c in plan.clampings], "cutter": [p.cutter_id for p in plan.passes],
        "bar": [plan.blank.chosen.bar_id],
    }  # fmt: skip
    found: list[Offer] = []
    for noun, stems, words in GROUPS_OF_LISTS:
        for one in raw.get(noun, []):
            if one.get("id") in used[noun]:
                own = [w for w in words if w.stem in stems]
                found += _words(f"{noun} {one['id']}", "shop", (noun, one["id"]), one, own, is_inch=is_inch)
    for section, noun, stems, words in ROWS:
        own = [w for w in words if w.stem in stems]
        for one in raw.get(section, {}).get(noun, []):
            if one.get("id") not in used[noun]:
                continue
            path = (section, noun, one["id"])
            found += _words(f"{noun} {one['id']}", "shop", path, one, own, is_inch=is_inch, above=raw[section])
            found.append(
                Offer(
                    group=f"{noun} {one['id']}", text="the whole row, to plan without it", unit="", file="shop",
                    path=path, present="there", wanted="nothing else than to be taken out", may_go=True,
                )
            )  # fmt: skip
    return found


def _words(
    group: str, file: ChangedFile, path: tuple[Step, ...], table: dict[str, Any], words: Iterable[Word], *,
    is_inch: bool, choices: dict[str, list[str]] | None = None, above: dict[str, Any] | None = None,
) -> list[Offer]:  # fmt: skip
    """One offer a word, under the key that the file uses, else the one of the shop's system."""
    found: list[Offer] = []
    for word in words:
        key = _key(word, table, above or {}, is_inch=is_inch)
        inherited = (above or {}).get(key)
        present = table.get(key, inherited)
        own = (choices or {}).get(word.stem) or _known(word)
        found.append(
            Offer(
                group=group, text=word.text, unit=unit_words(key.removeprefix(word.stem).removeprefix("_")), file=file,
                path=(*path, key), present="" if present is None else literal(present), wanted=wanted(word, key),
                choices=tuple(literal(one) for one in own), may_go=not word.must and key in table,
            )
        )  # fmt: skip
    return found


def _known(word: Word) -> Sequence[Any]:
    if word.kind == "choice":
        return word.choices
    return (True, False) if word.kind == "flag" else ()


def _key(word: Word, table: dict[str, Any], above: dict[str, Any], *, is_inch: bool) -> str:
    for key in word.keys:
        if key in table or key in above:
            return key
    inch = [key for key in word.keys if key.endswith(("_in", "_in_per_min", "_ft_per_min"))]
    return inch[0] if is_inch and inch else word.key


def literal(value: Any) -> str:
    """A value as TOML text, on one line."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {literal(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(literal(one) for one in value) + "]"
    return tomlkit.item(value).as_string()
