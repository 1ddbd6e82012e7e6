"""The dictionary of car facts: what a rule may ask about a car, of what type, and how to find it out.

A car file states facts as the car was made; its jobs change them. A rule set may declare facts of its own.
"""

from collections.abc import Iterable
from dataclasses import dataclass

TYPES = (
    "yes-no",
    "number",
    "count",
    "choice",
    "text",
    "mass",
    "length",
    "volume",
    "power",
    "money",
    "date",
)


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact.

    `type` is one of TYPES: a `count` is a whole number, zero or more; a `number` and every quantity are zero
    or more; a `choice` takes one of `choices`. `unit` is the usual unit to show it in ("" for none, and for
    money, which is in the car's own currency). `default` is taken where the car is silent; only a book's own
    facts have one.
    """

    id: str
    type: str
    title: str
    meaning: str
    choices: tuple[str, ...] = ()
    unit: str = ""
    default: object = None


def _yes_no(id: str, title: str, meaning: str) -> Fact:
    return Fact(id, "yes-no", title, meaning)


def _choice(id: str, title: str, choices: str, meaning: str) -> Fact:
    return Fact(id, "choice", title, meaning, choices=tuple(choices.split()))


def _count(id: str, title: str, meaning: str) -> Fact:
    return Fact(id, "count", title, meaning)


def _date(id: str, title: str, meaning: str) -> Fact:
    return Fact(id, "date", title, meaning)


def _length(id: str, title: str, meaning: str) -> Fact:
    return Fact(id, "length", title, meaning, unit="mm")


_SUSPENSION = (
    "strut double-wishbone multi-link trailing-arm semi-trailing-arm torsion-beam live-axle swing-axle "
    "de-dion beam-axle other"
)
_BRAKE = "disc ventilated-disc drum"

_FACTS = (
    # Engine
    Fact(
        "displacement",
        "volume",
        "Displacement",
        "Swept volume of all cylinders, in cm3: registration paper, or from bore, stroke and cylinders.",
        unit="cm3",
    ),
    _choice(
        "aspiration",
        "Aspiration",
        "natural turbo supercharged twin-charged",
        "How air enters the engine: by itself, or pushed by an exhaust turbine, a driven blower, or both.",
    ),
    _choice(
        "engine_type",
        "Engine type",
        "piston rotary electric hybrid turbine",
        "What drives the car; a hybrid has an electric motor beside its engine. See the registration paper.",
    ),
    _choice(
        "engine_layout",
        "Cylinder layout",
        "inline vee flat narrow-vee w rotary other",
        "How the cylinders stand to each other: look at the engine or the workshop manual.",
    ),
    _choice(
        "engine_position",
        "Engine position",
        "front mid rear",
        "Where the engine sits: before the cabin, between cabin and rear axle, or behind the rear axle.",
    ),
    _choice(
        "engine_direction",
        "Engine direction",
        "lengthwise crosswise",
        "Which way the crankshaft lies: along the car or across it.",
    ),
    _count("cylinders", "Cylinders", "Number of cylinders, or of rotors in a rotary engine: count them."),
    _count(
        "valves_per_cylinder",
        "Valves per cylinder",
        "Inlet and exhaust valves of one cylinder: workshop manual.",
    ),
    _count("camshafts", "Camshafts", "Number of camshafts in the whole engine: workshop manual."),
    _length("bore", "Bore", "Diameter of one cylinder, in mm: workshop manual, or measured with a bore gauge."),
    _length("stroke", "Stroke", "Travel of one piston, in mm: workshop manual, or measured at the crankshaft."),
    Fact(
        "compression_ratio",
        "number",
        "Compression ratio",
        "Volume above the piston at the bottom of its stroke, over that at the top: workshop manual.",
    ),
    Fact(
        "boost",
        "number",
        "Boost pressure",
        "Highest charge pressure above that of the air, in bar: read from a gauge under full load.",
        unit="bar",
    ),
    _length(
        "restrictor_diameter",
        "Restrictor diameter",
        "Narrowest bore of an air restrictor, in mm: measured with a calliper; leave it out without one.",
    ),
    Fact(
        "power",
        "power",
        "Power",
        "Greatest engine power, in kW: registration paper, or the test-bench sheet where a book asks for it.",
        unit="kW",
    ),
    Fact(
        "torque",
        "number",
        "Torque",
        "Greatest engine torque, in newton metres: maker's data or the test-bench sheet.",
        unit="Nm",
    ),
    _count(
        "rev_limit",
        "Rev limit",
        "Highest engine speed that the control allows, per minute: workshop manual or rev counter.",
    ),
    _choice(
        "fuel",
        "Fuel",
        "petrol diesel ethanol methanol lpg natural-gas hydrogen electric other",
        "What the car runs on, as it competes.",
    ),
    _choice(
        "fuel_feed",
        "Fuel feed",
        "carburettor single-point multi-point direct none",
        "How fuel reaches the air: one or more carburettors, one injector, one per cylinder, or straight in.",
    ),
    Fact(
        "tank_capacity",
        "volume",
        "Tank capacity",
        "What a full fuel tank holds, in litres: owner's handbook.",
        unit="L",
    ),
    _yes_no(
        "catalyst_fitted",
        "Catalyst working",
        "A catalytic converter is fitted and exhaust passes through it.",
    ),
    _yes_no("original_engine", "Original engine", "The engine is of the type that this car was made with."),
    _yes_no(
        "standard_engine_control",
        "Standard engine control",
        "The engine control unit runs the maker's own program.",
    ),
    Fact(
        "noise",
        "number",
        "Noise",
        "Sound level by the measure that the book names, in dB(A): read off a sound-level meter.",
        unit="dB(A)",
    ),
    # Driveline
    _choice(
        "driven_wheels",
        "Driven wheels",
        "front rear all",
        "Which axle the engine drives; all means both axles.",
    ),
    _choice(
        "gearbox",
        "Gearbox",
        "manual sequential automated-manual dual-clutch automatic stepless single-speed",
        "How gears are changed: by an open gate, one after the other, by actuators, or without steps.",
    ),
    _count("gears", "Gears", "Number of forward gears: see the gear lever or the owner's handbook."),
    _yes_no("original_gearbox", "Original gearbox", "The gearbox is of the type that this car was made with."),
    _yes_no(
        "straight_cut_gears",
        "Straight-cut gears",
        "The forward gears have straight teeth or engage by dogs: gearbox papers.",
    ),
    Fact(
        "final_drive",
        "number",
        "Final-drive ratio",
        "Turns of the gearbox output for one turn of the wheels: axle label or workshop manual.",
    ),
    _choice(
        "limited_slip",
        "Limited slip",
        "none viscous plate gear electronic locked",
        "What limits slip between the driven wheels; none is an open differential.",
    ),
    # Body
    _choice(
        "body",
        "Body style",
        "saloon hatchback estate coupe convertible roadster targa pick-up van off-road people-carrier",
        "Shape of the body as it was made.",
    ),
    _yes_no("open_top", "Open top", "The car has no fixed roof: a folding hood, a loose hard top, or none."),
    _count("seats", "Seats", "Number of seats: registration paper, or count the belts."),
    _count("seat_rows", "Rows of seats", "Number of rows of seats, one behind the other."),
    _count("doors", "Doors", "Number of doors; a tailgate counts as one where the maker counts it."),
    _choice(
        "steering_side",
        "Steering side",
        "left right centre",
        "Where the steering wheel sits, as seen by the driver.",
    ),
    _choice(
        "shell_material",
        "Shell material",
        "steel aluminium composite mixed",
        "What the load-bearing shell is made of: workshop manual.",
    ),
    _choice(
        "structure",
        "Structure",
        "shell ladder-frame space-frame tub",
        "What carries the loads: the body shell itself, a frame under it, a tube frame, or a moulded tub.",
    ),
    _choice(
        "origin",
        "Origin",
        "series kit one-off replica competition",
        "How the car came to be: built in series, from a kit, singly, as a copy, or for competition only.",
    ),
    # Dimensions
    _length("wheelbase", "Wheelbase", "Distance between front and rear axle, in mm: maker's data, or measured."),
    _length("length", "Length", "Overall length with the bumpers, in mm: registration paper, or measured."),
    _length("width", "Width", "Overall width without the mirrors, in mm: registration paper, or measured."),
    _length("height", "Height", "Overall height on level ground, in mm: registration paper, or measured."),
    _length("track_front", "Front track", "Distance between the tyres' middles at the front axle, in mm."),
    _length("track_rear", "Rear track", "Distance between the tyres' middles at the rear axle, in mm."),
    _length(
        "ride_height",
        "Ride height",
        "Lowest point of the sprung car above level ground, as the book measures it, in mm.",
    ),
    _length(
        "front_overhang",
        "Front overhang",
        "From the front axle to the foremost point of the car, in mm: measured.",
    ),
    _length(
        "rear_overhang",
        "Rear overhang",
        "From the rear axle to the rearmost point of the car, in mm: measured.",
    ),
    _length(
        "cg_height",
        "Height of the centre of gravity",
        "Centre of gravity above level ground, in mm: from weighing with one axle lifted.",
    ),
    _length(
        "arch_extension_width",
        "Arch extension",
        "How far wheel-arch extensions stand out on each side, in mm: measured; 0 without any.",
    ),
    _length(
        "aerofoil_span",
        "Rear aerofoil span",
        "Width of an added rear aerofoil across the car, in mm: measured.",
    ),
    _length("aerofoil_chord", "Rear aerofoil chord", "Depth of an added rear aerofoil, front to rear edge, in mm."),
    _length(
        "splitter_reach",
        "Splitter reach",
        "How far a front splitter stands out ahead of the bumper seen from above, in mm.",
    ),
    # Masses as papers list them
    Fact(
        "kerb_mass",
        "mass",
        "Listed kerb mass",
        "Mass of the standard car as the book's list or the registration paper gives it: not as weighed.",
        unit="kg",
    ),
    Fact(
        "homologated_mass",
        "mass",
        "Homologated mass",
        "Minimum mass on the car's homologation form.",
        unit="kg",
    ),
    Fact(
        "permitted_mass",
        "mass",
        "Permitted laden mass",
        "Highest mass with which the car may run on the road: registration paper or maker's plate.",
        unit="kg",
    ),
    Fact(
        "success_mass",
        "mass",
        "Success mass",
        "Mass that earlier results oblige the car to carry: the organiser's standings.",
        unit="kg",
    ),
    # Wheels and tyres
    _length(
        "tyre_width",
        "Tyre width",
        "Nominal width of the widest tyre, in mm: the first number on its side wall.",
    ),
    Fact(
        "tyre_profile",
        "number",
        "Tyre profile",
        "Height of the tyre's side in percent of its width: the number after the stroke on its side wall.",
        unit="%",
    ),
    _choice(
        "tyre_kind",
        "Tyre kind",
        "road semi-slick slick wet winter cross-country",
        "What the tyre is made for: its maker's data sheet.",
    ),
    _yes_no(
        "tyre_road_legal",
        "Road-legal tyres",
        "All four tyres bear an approval mark for road use on the side wall.",
    ),
    _count(
        "tyre_treadwear",
        "Treadwear grade",
        "Lowest treadwear grade of the four tyres, as moulded on the side wall.",
    ),
    _length("tread_depth", "Tread depth", "Least depth of tread on any tyre, in mm: tread gauge."),
    Fact(
        "rim_width",
        "length",
        "Rim width",
        "Width of the widest rim between its flanges, in inches: stamped on the rim.",
        unit="in",
    ),
    Fact(
        "rim_diameter",
        "length",
        "Rim diameter",
        "Nominal diameter of the rim, in inches: stamped on it, and the last number of the tyre size.",
        unit="in",
    ),
    _choice(
        "rim_material",
        "Rim material",
        "steel aluminium magnesium composite",
        "What the rims are made of: maker's data.",
    ),
    _length("spacer_thickness", "Spacer thickness", "Thickest wheel spacer, in mm: calliper; 0 without any."),
    # Suspension, steering, brakes
    _choice(
        "front_suspension",
        "Front suspension",
        _SUSPENSION,
        "How the front wheels are guided: workshop manual.",
    ),
    _choice("rear_suspension", "Rear suspension", _SUSPENSION, "How the rear wheels are guided: workshop manual."),
    _yes_no(
        "original_suspension_points",
        "Original suspension points",
        "Every suspension arm and strut mounts where the maker put it.",
    ),
    _yes_no("adjustable_dampers", "Adjustable dampers", "The dampers can be set harder or softer from outside."),
    _count(
        "damper_adjustments",
        "Damper adjusters",
        "Separate adjusters of one damper: maker's data; 0 for none.",
    ),
    _yes_no("adjustable_ride_height", "Adjustable ride height", "Spring seats can be moved without other parts."),
    Fact(
        "negative_camber",
        "number",
        "Negative camber",
        "Most inward lean of any wheel at its top, in degrees, as a number of zero or more: camber gauge.",
        unit="°",
    ),
    _yes_no("power_steering", "Power steering", "The steering has assistance, hydraulic or electric."),
    _choice("front_brakes", "Front brakes", _BRAKE, "Kind of brake at the front wheels: look behind the rim."),
    _choice("rear_brakes", "Rear brakes", _BRAKE, "Kind of brake at the rear wheels: look behind the rim."),
    _length("front_disc_diameter", "Front disc diameter", "Outer diameter of a front brake disc, in mm: measured."),
    _length("rear_disc_diameter", "Rear disc diameter", "Outer diameter of a rear brake disc, in mm: measured."),
    _yes_no("dual_circuit_brakes", "Dual-circuit brakes", "Two separate hydraulic circuits: workshop manual."),
    _yes_no("abs", "Anti-lock brakes", "An anti-lock system is fitted and works."),
    _yes_no("traction_control", "Traction control", "A system that limits wheel spin is fitted and works."),
    _yes_no(
        "stability_control",
        "Stability control",
        "A system that brakes single wheels to steady the car works.",
    ),
    # Papers and dates
    _count("model_year", "Model year", "The model year, a whole number: given by model_year under [car]."),
    _date("first_registered", "First registered", "Day of first registration: registration paper."),
    _date("production_from", "Production from", "First day on which this model was made: maker's data."),
    _date("production_until", "Production until", "Last day on which this model was made: maker's data."),
    _date("homologated_until", "Homologated until", "Day on which the car's homologation form runs out."),
    _date("inspected_until", "Roadworthy until", "Last day of the current roadworthiness inspection."),
    _date("harness_valid_until", "Harness valid until", "Expiry date on the harness label."),
    _date("seat_valid_until", "Seat valid until", "Expiry date on the competition seat's label."),
    _date("extinguisher_checked", "Extinguisher checked", "Day of the last service on the extinguisher's label."),
    _count("production_count", "Production count", "How many of this model were made: maker's data."),
    _yes_no("road_registered", "Road registered", "The car is registered for the road on the day of the event."),
    _yes_no("insured", "Insured", "The insurance that the road law asks for is in force."),
    _yes_no("homologated", "Homologated", "A homologation form exists for this model."),
    _yes_no("car_passport", "Car passport", "The car has a technical passport of a motor-sport authority."),
    _choice(
        "emission_class",
        "Emission class",
        "none euro-1 euro-2 euro-3 euro-4 euro-5 euro-6 euro-7 other",
        "Emission class on the registration paper.",
    ),
    Fact("price_new", "money", "Price when new", "List price of the car when new: old price lists."),
    Fact("purchase_price", "money", "Purchase price", "What the builder paid for the car: the bill of sale."),
    Fact("parts_cost", "money", "Cost of parts", "What the parts fitted since have cost in all: the receipts."),
    Fact(
        "performance_index",
        "number",
        "Performance index",
        "Index that the book's own list or formula gives this car: declared by the entrant.",
    ),
    Fact("model", "text", "Model", "Make and model as the book's list of cars writes it."),
    Fact("engine_code", "text", "Engine code", "Letters and numbers stamped on the engine: registration paper."),
)

BUILTIN: dict[str, Fact] = {fact.id: fact for fact in _FACTS}


def suggest(name: str, known: Iterable[str]) -> str:
    """A question such as `did you mean "tyre_width"?` for a name that is no fact, or "" if none is near."""
    from tarebook.names import did_you_mean

    return did_you_mean(name, known)


def search(word: str) -> list[Fact]:
    """The built-in facts whose id, title, meaning or choices hold every word of `word`, best first."""
    wanted = word.casefold().replace("_", " ").split()
    if not wanted:
        return []
    phrase = " ".join(wanted)
    ranked = []
    for fact in _FACTS:
        rank = _rank(fact, phrase, wanted)
        if rank is not None:
            ranked.append((rank, fact))
    ranked.sort(key=lambda pair: pair[0])  # a stable sort: equals keep the order above
    return [fact for _, fact in ranked]


def _rank(fact: Fact, phrase: str, wanted: list[str]) -> int | None:
    """How well a fact answers a search: 0 is best, None not at all."""
    name, title = fact.id.replace("_", " "), fact.title.casefold()
    if phrase in (name, title):
        return 0
    if phrase in name or phrase in title:
        return 1
    if phrase in fact.choices:
        return 2
    text = " ".join((name, title, fact.meaning.casefold(), *fact.choices))
    return 3 if all(word in text for word in wanted) else None
