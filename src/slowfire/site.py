"""The place, its bins and its measures, as numbers and plain words."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from slowfire.errors import UnknownName
from slowfire.garden_beds import GardenBed
from slowfire.refusals import RefusedField, name_text, nearest, number_in, one_of

SHAPES = ("box", "cylinder", "taper", "heap")
BASES = ("soil", "slab", "raised", "mesh")
LID_LEAKS = ("tight", "usual", "leaky")
SHELTERS = ("sheltered", "normal", "windy")
RAIN_CLASSES = ("dry", "usual", "wet")
THERMOMETER_KINDS = ("lid", "probe", "infrared", "air")
UNIT_SYSTEMS = ("metric", "us")
WEATHER_KINDS = ("constant", "seasonal", "grid", "file")
ABOUT = ("bin", "thermometer", "measure", "material", "site")
LOOPBACK_HOSTS = ("localhost", "127.0.0.1", "::1")
LONGEST_URL = 2000

# Which inside sizes each shape needs; any other is refused for it.
SIZES = {
    "box": ("inside_width_cm", "inside_depth_cm", "inside_height_cm"),
    "cylinder": ("inside_diameter_cm", "inside_height_cm"),
    "taper": ("top_diameter_cm", "bottom_diameter_cm", "inside_height_cm"),
    "heap": ("inside_width_cm", "inside_depth_cm", "inside_height_cm"),
}
SIZE_NAMES = tuple(dict.fromkeys(name for names in SIZES.values() for name in names))


@dataclass(frozen=True)
class WallLayer:
    """One sheet of a wall, lid or base.

    Parameters
    ----------
    material : str
        Plain word of the material: foam, timber, wool and so on, as typed [-].
    thickness_mm : float
        Thickness, 0.1 to 1000 [mm].

    Raises
    ------
    InvalidInput
        If the word is empty or the thickness out of range.
    """

    material: str
    thickness_mm: float

    def __post_init__(self) -> None:
        _set(self, "material", name_text("material", self.material))
        _set(self, "thickness_mm", number_in("thickness_mm", self.thickness_mm, 0.1, 1000.0, "mm"))


@dataclass(frozen=True)
class Bin:
    """A bin or heap as its keeper would describe it.

    Parameters
    ----------
    name : str
        Its name in the journal [-].
    shape : str
        box, cylinder, taper (round, narrower at one end) or heap [-].
    inside_width_cm, inside_depth_cm, inside_height_cm, inside_diameter_cm : float or None
        Inside sizes, 5 to 1000; those that the shape needs [cm].
    top_diameter_cm, bottom_diameter_cm : float or None
        Inside diameters of a taper, 5 to 1000 [cm].
    wall, lid, base : tuple of WallLayer
        Sheets from the inside out; empty for an open heap or a bare base [-].
    stands_on : str
        soil, slab, raised or mesh [-].
    slatted : bool
        True if air passes through the walls [-].
    open_share_percent : float
        Open share of slatted walls, 0 to 90 [percent].
    vent_slot_length_cm : float
        Length of the slot that the lid vent opens, 0 to 1000 [cm].
    base_inlet_area_cm2 : float
        Open area at the base, 0 to 10000 [cm^2].
    lid_leak : str
        tight, usual or leaky [-].
    shelter : str
        sheltered, normal or windy [-].
    sun_share_percent : float
        Share of the day's sun that reaches the bin, 0 to 100 [percent].
    roofed : bool
        True if no rain reaches the lid [-].
    tub_litres : float
        Size of the liquid tub, 0 if none, up to 1000 [litre].
    door_height_cm : float
        Top of the door above the floor, 0 if nobody measured it, up to 300 [cm].

    Raises
    ------
    InvalidInput
        If a size is missing, not needed by the shape or out of range.

    Examples
    --------
    >>> Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75).shape
    'cylinder'
    """

    name: str
    shape: str
    inside_width_cm: float | None = None
    inside_depth_cm: float | None = None
    inside_height_cm: float | None = None
    inside_diameter_cm: float | None = None
    top_diameter_cm: float | None = None
    bottom_diameter_cm: float | None = None
    wall: tuple[WallLayer, ...] = ()
    lid: tuple[WallLayer, ...] = ()
    base: tuple[WallLayer, ...] = ()
    stands_on: str = "soil"
    slatted: bool = False
    open_share_percent: float = 0.0
    vent_slot_length_cm: float = 0.0
    base_inlet_area_cm2: float = 0.0
    lid_leak: str = "usual"
    shelter: str = "normal"
    sun_share_percent: float = 50.0
    roofed: bool = False
    tub_litres: float = 0.0
    door_height_cm: float = 0.0

    def __post_init__(self) -> None:
        _set(self, "name", name_text("name", self.name))
        one_of("shape", self.shape, SHAPES)
        needed = SIZES[self.shape]
        for size in SIZE_NAMES:
            value = getattr(self, size)
            if size in needed:
                if value is None:
                    raise RefusedField(
                        size,
                        f"{size} is missing; a {self.shape} needs {', '.join(needed)} "
                        "(5 to 1000 cm each).",
                    )
                _set(self, size, number_in(size, value, 5.0, 1000.0, "cm"))
            elif value is not None:
                raise RefusedField(
                    size,
                    f"{size} does not belong to a {self.shape}, which has "
                    f"{', '.join(needed)}: take it out.",
                )
        for part in ("wall", "lid", "base"):
            _set(self, part, tuple(getattr(self, part)))
            if len(getattr(self, part)) > 8:
                raise RefusedField(part, f"{part} has more than 8 sheets; allowed is 0 to 8.")
        one_of("stands_on", self.stands_on, BASES)
        one_of("lid_leak", self.lid_leak, LID_LEAKS)
        one_of("shelter", self.shelter, SHELTERS)
        for flag in ("slatted", "roofed"):
            _yes_or_no(flag, getattr(self, flag))
        for name, high, unit in (
            ("open_share_percent", 90.0, "%"),
            ("vent_slot_length_cm", 1000.0, "cm"),
            ("base_inlet_area_cm2", 10_000.0, "cm2"),
            ("sun_share_percent", 100.0, "%"),
            ("tub_litres", 1000.0, "litre"),
            ("door_height_cm", 300.0, "cm"),
        ):
            _set(self, name, number_in(name, getattr(self, name), 0.0, high, unit))
        if self.slatted and self.open_share_percent == 0.0:
            raise RefusedField(
                "open_share_percent",
                "open_share_percent is 0 though slatted is true; give the open share of the walls "
                "(above 0 to 90 %) or set slatted to false.",
            )
        if self.open_share_percent > 0.0 and not self.slatted:
            raise RefusedField(
                "open_share_percent",
                f"open_share_percent is {self.open_share_percent:g} though slatted is false; set "
                "slatted to true or the share to 0.",
            )


@dataclass(frozen=True)
class Thermometer:
    """A thermometer and where it sits.

    Parameters
    ----------
    name : str
        Its name in the journal [-].
    kind : str
        lid (reads the air under the lid), probe, infrared or air [-].
    depth_cm : float or None
        Usual depth below the surface, 0 to 300 [cm].
    bias_kelvin : float
        Reading less truth, -15 to 15 [K].

    Raises
    ------
    InvalidInput
        If the kind is unknown or a number out of range.
    """

    name: str
    kind: str
    depth_cm: float | None = None
    bias_kelvin: float = 0.0

    def __post_init__(self) -> None:
        _set(self, "name", name_text("name", self.name))
        one_of("kind", self.kind, THERMOMETER_KINDS)
        if self.depth_cm is not None:
            _set(self, "depth_cm", number_in("depth_cm", self.depth_cm, 0.0, 300.0, "cm"))
        _set(self, "bias_kelvin", number_in("bias_kelvin", self.bias_kelvin, -15.0, 15.0, "K"))


@dataclass(frozen=True)
class WeatherSetting:
    """Which weather to assume when none was measured.

    Parameters
    ----------
    kind : str
        constant, seasonal, grid (the shipped world grid) or file [-].
    mean_celsius : float or None
        Mean of the year, or the constant temperature, -40 to 50; needed by constant and seasonal,
        allowed for grid where it is known better [degC].
    yearly_swing_kelvin, daily_swing_kelvin : float
        Warmest less coldest day of the year, 0 to 70; afternoon less dawn, 0 to 40 [K].
    coldest_day : int
        Day of the year, 1 to 366; 15 January unless given [day].
    relative_humidity_percent : float
        Used by constant, 5 to 100 [percent].
    rain, wind : str or None
        Classes dry, usual, wet and sheltered, normal, windy; None is usual and normal, with grid
        what goes with the place, with a file what it holds [-].
    noise_kelvin : float
        Spread of the day-to-day weather, 0 to 15, 0 for none [K].
    seed : int
        Seed of that noise; with grid any but 0 draws a year of the place's own spread [-].
    file : str or None
        Name of a weather file in the journal's folder; needed by file [-].
    town : str or None
        Name of a larger town, for grid, before the coordinates of the site [-].
    forecast_url : str or None
        Address of a weather forecast with {latitude} and {longitude} in it; nothing is fetched
        without it; not for constant [-].

    Raises
    ------
    InvalidInput
        If what the kind needs is missing or out of range.
    """

    kind: str
    mean_celsius: float | None = None
    yearly_swing_kelvin: float = 0.0
    daily_swing_kelvin: float = 0.0
    coldest_day: int = 15
    relative_humidity_percent: float = 75.0
    rain: str | None = None
    wind: str | None = None
    noise_kelvin: float = 0.0
    seed: int = 0
    file: str | None = None
    town: str | None = None
    forecast_url: str | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, WEATHER_KINDS)
        if self.rain is not None:
            one_of("rain", self.rain, RAIN_CLASSES)
        if self.wind is not None:
            one_of("wind", self.wind, SHELTERS)
        if self.town is not None:
            if self.kind != "grid":
                raise RefusedField("town", f'town belongs to kind "grid", not "{self.kind}".')
            _set(self, "town", name_text("town", self.town))
        if self.kind == "file":
            if self.file is None or self.mean_celsius is not None:
                raise RefusedField(
                    "file",
                    'weather kind "file" needs file = "weather.csv" and no mean_celsius.',
                )
            _set(self, "file", _file_name(self.file))
        elif self.file is not None:
            raise RefusedField("file", f'file belongs to kind "file", not "{self.kind}".')
        elif self.mean_celsius is None and self.kind != "grid":
            raise RefusedField(
                "mean_celsius",
                f'weather kind "{self.kind}" needs mean_celsius (-40 to 50 C).',
            )
        if self.forecast_url is not None:
            if self.kind == "constant":
                raise RefusedField(
                    "forecast_url",
                    'weather kind "constant" never changes and takes no forecast; choose another '
                    "kind or take forecast_url out.",
                )
            _set(self, "forecast_url", forecast_pattern(self.forecast_url))
        if self.kind == "grid":
            self._refuse_what_the_grid_knows()
        if self.mean_celsius is not None:
            advice = "If it is in Fahrenheit, convert it."
            mean = number_in("mean_celsius", self.mean_celsius, -40.0, 50.0, "C", advice)
            _set(self, "mean_celsius", mean)
        for name, low, high, unit in (
            ("yearly_swing_kelvin", 0.0, 70.0, "K"),
            ("daily_swing_kelvin", 0.0, 40.0, "K"),
            ("relative_humidity_percent", 5.0, 100.0, "%"),
            ("noise_kelvin", 0.0, 15.0, "K"),
        ):
            _set(self, name, number_in(name, getattr(self, name), low, high, unit))
        for name, low, high in (("coldest_day", 1, 366), ("seed", 0, 2**31)):
            value = getattr(self, name)
            number_in(name, value, low, high)
            if value != int(value):
                raise RefusedField(name, f"{name} is {value:g}; allowed is a whole number.")
            _set(self, name, int(value))

    def _refuse_what_the_grid_knows(self) -> None:
        for name in ("yearly_swing_kelvin", "daily_swing_kelvin"):
            if getattr(self, name) != 0.0:
                raise RefusedField(
                    name, f'{name} belongs to kind "seasonal"; kind "grid" knows it: take it out.'
                )
        if self.noise_kelvin != 0.0 and self.seed == 0:
            raise RefusedField(
                "noise_kelvin",
                'noise_kelvin with kind "grid" needs a seed above 0, which draws the weather.',
            )


@dataclass(frozen=True)
class Site:
    """One place with its bins, measures and people.

    Parameters
    ----------
    name : str
        Name of the place [-].
    timezone : str
        Name of the time zone, such as Europe/Vienna [-].
    bins : tuple of Bin
        At least one, no two of one name [-].
    thermometers : tuple of Thermometer
        Those used in the journal [-].
    measures : mapping of str to float
        Own measures with their volume, 0.001 to 5000 [litre].
    materials : mapping of str to mapping
        Own materials, kept as typed [-].
    people : tuple of str
        Who may write entries [-].
    latitude_degrees, longitude_degrees : float or None
        Where it is, -90 to 90 and -180 to 180 [degree].
    units : str
        metric or us, for display [-].
    weather : WeatherSetting or None
        Weather to assume [-].
    beds : tuple of GardenBed
        Where compost may go, no two of one name [-].
    jurisdictions : tuple of str
        Whose rules on hygiene and nitrogen count, such as UK [-].

    Raises
    ------
    InvalidInput
        If two bins share a name, or anything is out of range.
    """

    name: str
    timezone: str
    bins: tuple[Bin, ...]
    thermometers: tuple[Thermometer, ...] = ()
    measures: Mapping[str, float] = field(default_factory=dict)
    materials: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    people: tuple[str, ...] = ()
    latitude_degrees: float | None = None
    longitude_degrees: float | None = None
    units: str = "metric"
    weather: WeatherSetting | None = None
    beds: tuple[GardenBed, ...] = ()
    jurisdictions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _set(self, "name", name_text("name", self.name))
        _set(self, "beds", tuple(self.beds))
        _set(self, "jurisdictions", tuple(self.jurisdictions))
        _no_two("beds", "beds", [one.name for one in self.beds])
        zone_named(self.timezone)
        _set(self, "bins", tuple(self.bins))
        _set(self, "thermometers", tuple(self.thermometers))
        if not self.bins:
            raise RefusedField("bins", "there is no bin; describe at least one under [[bins]].")
        _no_two("bins", "bins", [one.name for one in self.bins])
        _no_two("thermometers", "thermometers", [one.name for one in self.thermometers])
        people = tuple(name_text("people", one) for one in self.people)
        _no_two("people", "people", people)
        _set(self, "people", people)
        _set(
            self,
            "measures",
            {
                name_text("measures", name): number_in(name, litres, 0.001, 5000.0, "litre")
                for name, litres in self.measures.items()
            },
        )
        _no_two("measures", "measures", list(self.measures))
        materials = {name_text("materials", name): dict(v) for name, v in self.materials.items()}
        _no_two("materials", "materials", list(materials))
        _set(self, "materials", materials)
        for name, high in (("latitude_degrees", 90.0), ("longitude_degrees", 180.0)):
            if getattr(self, name) is not None:
                _set(self, name, number_in(name, getattr(self, name), -high, high, "degrees"))
        one_of("units", self.units, UNIT_SYSTEMS)
        townless = (
            self.weather is not None and self.weather.kind == "grid" and not self.weather.town
        )
        if townless and None in (self.latitude_degrees, self.longitude_degrees):
            raise RefusedField(
                "weather",
                'weather kind "grid" needs town = "..." under [weather], or latitude_degrees and '
                "longitude_degrees at the top.",
            )
        if self.weather is not None and self.weather.forecast_url is not None:
            located = None not in (self.latitude_degrees, self.longitude_degrees)
            if not located and self.weather.town is None:
                raise RefusedField(
                    "weather",
                    "forecast_url under [weather] needs latitude_degrees and longitude_degrees at "
                    "the top, so that the forecast is for your place.",
                )

    @property
    def zone(self) -> ZoneInfo:
        """The time zone in which times without an offset are read."""
        return zone_named(self.timezone)

    def bin_named(self, name: str) -> Bin:
        """Return the bin of this name; capital letters do not matter.

        Raises
        ------
        UnknownName
            If there is none, with the names there are.
        """
        wanted = " ".join(name.split()).casefold()
        for one in self.bins:
            if one.name.casefold() == wanted:
                return one
        names = [one.name for one in self.bins]
        raise UnknownName(
            f"no bin is called {name!r}; allowed is {', '.join(names)}.{nearest(name, names)}"
        )

    def thermometer_named(self, name: str) -> Thermometer:
        """Return the thermometer of this name, or a plain one if `name` is a kind.

        Raises
        ------
        UnknownName
            If it is neither, with the names there are.
        """
        wanted = " ".join(name.split()).casefold()
        for one in self.thermometers:
            if one.name.casefold() == wanted:
                return one
        if wanted in THERMOMETER_KINDS:
            return Thermometer(wanted, wanted)
        names = [*(one.name for one in self.thermometers), *THERMOMETER_KINDS]
        raise UnknownName(
            f"no thermometer is called {name!r}; allowed is {', '.join(names)}."
            f"{nearest(name, names)}"
        )


# What a setting may change about each thing; "" stands for the thing itself.
SETTING_KEYS: dict[str, tuple[str, ...]] = {
    "bin": tuple(one.name for one in fields(Bin) if one.name not in ("name", "shape")),
    "thermometer": ("kind", "depth_cm", "bias_kelvin"),
    "measure": ("litres",),
    "material": (),
    "site": ("latitude_degrees", "longitude_degrees", "timezone", "units"),
}


def zone_named(name: str) -> ZoneInfo:
    """Return the time zone of this name, or refuse it.

    Raises
    ------
    InvalidInput
        If no such zone is known.
    """
    try:
        if not isinstance(name, str):
            raise ValueError(name)
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as problem:
        raise RefusedField(
            "timezone",
            f"timezone is {name!r}; allowed is a name of a region and town such as "
            "Europe/Vienna or America/New_York, or UTC.",
        ) from problem


def forecast_pattern(url: str) -> str:
    """Return the address of a forecast, or refuse it.

    Parameters
    ----------
    url : str
        Of https, or of http on this machine itself, with {latitude} and {longitude} [-].

    Raises
    ------
    InvalidInput
        If it is no such address.

    Examples
    --------
    >>> forecast_pattern("https://example.org/?lat={latitude}&lon={longitude}")[:19]
    'https://example.org'
    """
    field_name = "forecast_url"
    allowed = (
        'allowed is an address such as "https://example.org/point?lat={latitude}&lon={longitude}".'
    )
    if not isinstance(url, str):
        raise RefusedField(field_name, f"{field_name} is {url!r}; {allowed}")
    clean = url.strip()
    if not clean.isascii() or any(not " " < letter <= "~" for letter in clean):
        raise RefusedField(
            field_name,
            f"{field_name} holds a space or a letter that an address may not; {allowed} Write a "
            "space as %20.",
        )
    if not 0 < len(clean) <= LONGEST_URL:
        raise RefusedField(
            field_name, f"{field_name} has {len(clean)} letters; allowed is 1 to {LONGEST_URL}."
        )
    try:
        parts = urlsplit(clean)
        host, _ = parts.hostname or "", parts.port
    except ValueError as problem:
        raise RefusedField(field_name, f"{field_name} cannot be read; {allowed}") from problem
    if parts.scheme != "https" and not (parts.scheme == "http" and host in LOOPBACK_HOSTS):
        raise RefusedField(
            field_name,
            f"{field_name} begins with {parts.scheme or 'nothing'}; allowed is https (http only "
            "for this machine itself, 127.0.0.1): what is fetched over http can be changed on "
            "its way.",
        )
    if not host or "@" in parts.netloc or "{" in parts.netloc:
        raise RefusedField(
            field_name,
            f"{field_name} needs the plain name of a host, without a user and without a place in "
            f"it; {allowed}",
        )
    rest = clean.replace("{latitude}", "").replace("{longitude}", "")
    missing = [one for one in ("{latitude}", "{longitude}") if one not in clean]
    if missing or "{" in rest or "}" in rest:
        wrong = f"lacks {' and '.join(missing)}" if missing else "holds other braces"
        raise RefusedField(field_name, f"{field_name} {wrong}; {allowed}")
    return clean


def _file_name(name: str) -> str:
    clean = name_text("file", name)
    known = clean.casefold().endswith((".csv", ".epw")) and clean != "entries.csv"
    if not known or set("/\\") & set(clean) or clean.startswith("."):
        raise RefusedField(
            "file",
            f"file is {clean!r}; allowed is the bare name of a .csv or .epw file in the "
            "journal's folder.",
        )
    return clean


def _no_two(field_name: str, what: str, names: list[str] | tuple[str, ...]) -> None:
    seen: set[str] = set()
    for name in names:
        if name.casefold() in seen:
            raise RefusedField(
                field_name, f"two {what} are called {name!r}; give each its own name."
            )
        seen.add(name.casefold())


def _yes_or_no(field_name: str, value: bool) -> None:
    if not isinstance(value, bool):
        raise RefusedField(field_name, f"{field_name} is {value!r}; allowed is true or false.")


def _set(record: object, name: str, value: object) -> None:
    """Store a normalised value in a frozen record under construction."""
    object.__setattr__(record, name, value)
