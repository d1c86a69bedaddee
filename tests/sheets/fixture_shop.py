"""The shop of Example Lamp Works (invented), as far as the clamp jaw needs it."""

from __future__ import annotations

from proveout.model import shop as shops
from proveout.model.fact import Fact, Strength, spread_fact
from proveout.quantities.units import mm_per_s_from_m_per_min, rad_from_deg, rad_per_s_from_rpm


def fact(low: float, nominal: float, high: float, unit: str, strength: Strength = "owner's guess") -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source="Example Lamp Works", strength=strength)


def cutter(id: str, name: str, kind: str, diameter_mm: float, **more: float | None) -> shops.Cutter:
    values: dict[str, object] = {
        "corner_radius_mm": 0.0,
        "flutes_count": 3,
        "flute_length_mm": 2.5 * diameter_mm,
        "stick_out_mm": max(22.0, 3.2 * diameter_mm),
        "shank_diameter_mm": diameter_mm,
        "holder_diameter_mm": 32.0,
        "holder_length_mm": 60.0,
        "tip_angle_rad": 0.0,
        "tip_diameter_mm": 0.0,
        "pitch_mm": 0.0,
        "speed_max_rad_per_s": rad_per_s_from_rpm(15000.0),
        "cutting_speed_mm_per_s": mm_per_s_from_m_per_min(240.0),
        "tooth_feed_mm": 0.06,
        "life_s": 7200.0,
        "price": 38.0,
    }
    return shops.Cutter(id=id, name=name, kind=kind, diameter_mm=diameter_mm, **(values | more))  # type: ignore[arg-type]


def by_hand(seconds: float) -> Fact:
    return spread_fact(seconds, 0.3, "s", "Example Lamp Works", "owner's guess")


def example_shop() -> shops.Shop:
    cutters = (
        cutter(
            "face-50",
            "Face mill 50, five inserts",
            "face mill",
            50.0,
            flutes_count=5,
            stick_out_mm=48.0,
            flute_length_mm=8.0,
        ),
        cutter("rough-10", "Rougher 10, three flutes", "end mill", 10.0, corner_radius_mm=0.5),
        cutter("mill-6", "End mill 6, three flutes", "end mill", 6.0),
        cutter("spot-8", "Spot 90 degrees", "spot", 8.0, tip_angle_rad=rad_from_deg(90.0), flutes_count=2),
        cutter(
            "drill-5", "Drill 5.0", "drill", 5.0, tip_angle_rad=rad_from_deg(118.0), flutes_count=2, stick_out_mm=44.0
        ),
        cutter(
            "drill-6.6", "Drill 6.6", "drill", 6.6, tip_angle_rad=rad_from_deg(118.0), flutes_count=2, stick_out_mm=50.0
        ),
        cutter("tap-m6", "Tap M6, cut thread", "tap", 6.0, pitch_mm=1.0, life_s=None, stick_out_mm=41.0),
        cutter(
            "edge-6",
            "Edge break 6, 45 degrees",
            "edge break",
            6.0,
            tip_angle_rad=rad_from_deg(90.0),
            tip_diameter_mm=1.0,
        ),
    )
    machine = shops.Machine(
        id="mill3",
        name="Three-axis mill",
        kind="3-axis",
        travel_mm=(760.0, 430.0, 460.0),
        speed_max_rad_per_s=rad_per_s_from_rpm(10000.0),
        power_mw=7.5e6,
        rapid_mm_per_s=400.0,
        feed_max_mm_per_s=200.0,
        accel_mm_per_s2=2500.0,
        cutter_change_s=5.5,
        pockets_count=20,
        vises_count=2,
        has_probe=False,
        rate_per_h=90.0,
        setup_s=2700.0,
        resolution_mm=0.001,
    )
    vises = tuple(
        shops.Vise(
            id=name,
            machines=("mill3",),
            opening_max_mm=180.0,
            jaw_length_mm=125.0,
            jaw_height_mm=40.0,
            preload_n=fact(15000.0, 17500.0, 20000.0, "N", "measured here"),
            rating_n=25000.0,
            torque_n_mm=60000.0,
        )
        for name in ("vise-a", "vise-b")
    )
    jaws = (
        shops.Jaws(
            id="toothed",
            kind="toothed",
            grip_mm=3.0,
            friction_ratio=fact(0.25, 0.35, 0.5, ""),
            for_surface="raw",
            make_s=0.0,
            price=140.0,
        ),
        shops.Jaws(
            id="soft-jaw-ex102",
            kind="soft",
            grip_mm=8.0,
            friction_ratio=None,
            for_surface="finished",
            make_s=2400.0,
            price=22.0,
        ),
    )
    return shops.Shop(
        name="Example Lamp Works",
        currency="EUR",
        machines=(machine,),
        vises=vises,
        jaws=jaws,
        cutters=cutters,
        bars=(
            shops.Bar(
                id="square-25",
                alloy="6061-T6",
                width_mm=25.0,
                height_mm=25.0,
                width_tolerance_mm=0.25,
                height_tolerance_mm=0.25,
                corner_radius_mm=0.8,
                bow_mm_per_m=1.7,
                twist_rad_per_m=0.017,
                lengths_mm=(3000.0, 5000.0),
                price_per_kg=11.0,
                condition="extruded",
            ),
        ),
        saw=shops.Saw(
            bundle_width_mm=220.0,
            bundle_height_mm=150.0,
            kerf_mm=1.8,
            trim_mm=6.0,
            tail_mm=65.0,
            length_tolerance_mm=0.2,
            rate_mm2_per_s=120.0,
            handling_s=20.0,
            setup_s=900.0,
            rate_per_h=55.0,
        ),
        finishers=(
            shops.Finisher(
                id="coat-house",
                process="hard coat, black",
                lot_minimum=300.0,
                price_each=3.2,
                freight=35.0,
                days_low=6,
                days_high=8,
                pickup_weekdays=(3,),
            ),
        ),
        gauges=(
            shops.Gauge(
                id="mic-25",
                name="Micrometer 0 to 25",
                kind="micrometer",
                low_mm=0.0,
                high_mm=25.0,
                uncertainty_mm=0.004,
            ),
        ),
        bench=shops.Bench(
            load_s=by_hand(25.0),
            blow_off_s=by_hand(8.0),
            gauging_s=by_hand(20.0),
            deburr_s=by_hand(35.0),
            blast_s=by_hand(110.0),
            plug_s=by_hand(15.0),
            kit_s=by_hand(20.0),
            programming_s=by_hand(10800.0),
            prove_out_s=by_hand(5400.0),
            rate_per_h=45.0,
        ),
        people_count=2,
        shift_h=8.0,
        spindle_h_per_week=30.0,
        density_kg_per_mm3=2.7e-6,
        yield_mpa=fact(240.0, 276.0, 290.0, "MPa", "published and seen"),
        cutting_pressure_mpa=fact(350.0, 500.0, 700.0, "MPa", "published as quoted"),
        cutting_exponent_ratio=0.25,
        scrap_ratio=fact(0.01, 0.02, 0.05, "ratio"),
        assumed=("Brake torque of vises taken as 60 N m: not in the file.", "Scrap 2 %: nobody has counted yet."),
    )
