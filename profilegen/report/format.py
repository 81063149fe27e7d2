"""Numbers and dates as people read them: the only place where a reader's numbers become text.

Loads are rounded to 0.5 kg (the smallest change on a bar), or to whole pounds; the ends of
an interval to whole kilos, outwards, so that rounding never makes the program look surer
than it is; shares to whole percents. A minus is a real minus sign, and there is no "-0".
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from profilegen.history.records import Units
from profilegen.report.language import Words, words_in
from profilegen.units import LB_PER_KG

MINUS = "−"
NBSP = "\N{NO-BREAK SPACE}"

Told = Literal["day", "month", "year"]
"""How exactly a time was told."""

_MOST_DIGITS_TOGETHER = 4
"""Numbers of four digits are read at a glance; longer ones are parted in thousands."""

_WRITTEN_DECIMALS: Mapping[Units, int] = MappingProxyType({"kg": 1, "lb": 0})


def nearest(value: float, step: float = 1.0) -> float:
    """`value` to the nearest multiple of `step`, halves away from zero, never -0.

    >>> nearest(84.26, 0.5), nearest(-0.2), nearest(2.5)
    (84.5, 0.0, 3.0)
    """
    whole = math.floor(abs(value) / step + 0.5 + 1e-9) * step
    return (math.copysign(whole, value) if whole else 0.0) + 0.0


def significant(value: float, digits: int) -> float:
    """`value` to so many significant digits, for data in a page.

    >>> significant(0.01234567, 4), significant(-0.0, 3)
    (0.01235, 0.0)
    """
    return float(f"{value:.{digits}g}") + 0.0


def whole(value: float, unit: float) -> int:
    """`value` counted in units, for compact data in a page.

    >>> whole(0.01234, 1e-4)
    123
    """
    count = value / unit
    return int(count + math.copysign(0.5 + 1e-9, count))


def to_tenths(value: float) -> float:
    """`value` to the nearest tenth, as `nearest` does it but without a trace of binary.

    >>> to_tenths(84.26), nearest(84.26, 0.1), to_tenths(-0.01)
    (84.3, 84.30000000000001, 0.0)
    """
    count = math.floor(abs(value) / 0.1 + 0.5 + 1e-9)
    return (-count if value < 0 else count) / 10


def plain_point(value: float) -> str:
    """A number as an attribute of HTML holds it, whatever the language.

    >>> plain_point(0.5), plain_point(-2.0)
    ('0.5', '-2')
    """
    return f"{value:g}"


def tick_label(value: float, decimals: int, decimal_mark: str = ".") -> str:
    """The number at a tick, as many decimals at each: a true minus sign, no negative zero.

    >>> tick_label(-0.5, 1, ","), tick_label(-0.01, 1), tick_label(80.0, 0)
    ('−0,5', '0.0', '80')
    """
    text = f"{abs(value):.{decimals}f}"
    sign = MINUS if value < 0 and float(text) else ""
    return sign + text.replace(".", decimal_mark)


def tick_day(day: date, months: Sequence[str], pattern: str) -> str:
    """A day at a tick, `pattern` with {day} and {month}.

    >>> tick_day(date(2026, 1, 9), ["Jan"], "{day} {month}")
    '9 Jan'
    """
    return pattern.format(day=day.day, month=months[day.month - 1])


def tick_month(day: date, months: Sequence[str], *, year: bool) -> str:
    """A month at a tick, with its year or without.

    >>> tick_month(date(2026, 1, 1), ["Jan"], year=True)
    'Jan 2026'
    """
    month = months[day.month - 1]
    return f"{month} {tick_year(day)}" if year else month


def tick_year(day: date) -> str:
    """A year at a tick.

    >>> tick_year(date(2026, 1, 1))
    '2026'
    """
    return str(day.year)


@lru_cache(maxsize=1 << 14)
def _number(words: Words, value: float, decimals: int) -> str:
    """See `Format.number`. Rounded numbers are few, so most have been written before."""
    text = f"{nearest(abs(value), 10.0**-decimals):.{decimals}f}"
    if decimals:
        text = text.rstrip("0").rstrip(".")
    sign = MINUS if value < 0 and text.strip("0.") else ""
    whole_part, _point, decimal_part = text.partition(".")
    if len(whole_part) > _MOST_DIGITS_TOGETHER:
        whole_part = f"{int(whole_part):,}".replace(",", words.thousands_mark)
    if decimal_part:
        return f"{sign}{whole_part}{words.decimal_mark}{decimal_part}"
    return sign + whole_part


@lru_cache(maxsize=1 << 13)
def _range(words: Words, low: str, high: str) -> str:
    """See `Format.range`."""
    return words._("{low}\u00a0to\u00a0{high}").format(low=low, high=high)


@lru_cache(maxsize=1 << 13)
def _date(words: Words, on: date, month: str) -> str:
    return words._("{day}\N{NO-BREAK SPACE}{month}\N{NO-BREAK SPACE}{year}").format(
        day=on.day, month=month, year=on.year
    )


def _month_or_year(words: Words, on: date, told: Told, month: str) -> str:
    if told == "year":
        return str(on.year)
    return words._("{month}\N{NO-BREAK SPACE}{year}").format(month=month, year=on.year)


@lru_cache(maxsize=1 << 12)
def _load(words: Words, units: Units, rounded: float) -> str:
    """See `Format.load`."""
    return f"{_number(words, rounded, 1)}{NBSP}{units}"


@lru_cache(maxsize=1 << 13)
def _whole_range(words: Words, low: int, high: int) -> str:
    """See `Format.load_range`."""
    return _range(words, _number(words, low, 0), _number(words, high, 0))


@dataclass(frozen=True, slots=True)
class Format:
    """How numbers are written for one club: its units and its language."""

    words: Words
    units: Units = "kg"

    # numbers

    def number(self, value: float, decimals: int = 0) -> str:
        """A plain number with at most `decimals` decimals.

        >>> english.number(84.0, 1), english.number(-0.04, 1), english.number(-2.25, 1)
        ('84', '0', '−2.3')
        >>> english.number(9999), english.number(12500)
        ('9999', '12,500')
        """
        return _number(self.words, value, decimals)

    def signed(self, value: float, decimals: int = 0) -> str:
        """A change: with its sign, and a bare 0 when nothing is left after rounding.

        >>> english.signed(0.84, 1), english.signed(-0.84, 1), english.signed(-0.01, 1)
        ('+0.8', '−0.8', '0')
        """
        text = self.number(value, decimals)
        return text if text == "0" or text.startswith(MINUS) else f"+{text}"

    @property
    def per_kg(self) -> float:
        """The club's units in a kilogram."""
        return 1.0 if self.units == "kg" else LB_PER_KG

    def _converted(self, kg: float) -> float:
        return kg * self.per_kg

    # loads

    def load_value(self, kg: float) -> float:
        """A load in the club's units for placing a mark in a chart, to a tenth.

        >>> english.load_value(84.26)
        84.3
        """
        return to_tenths(kg * self.per_kg)

    def load_values(self, loads_kg: Iterable[float]) -> tuple[float, ...]:
        """`load_value` of each."""
        per_kg = self.per_kg
        return tuple([to_tenths(kg * per_kg) for kg in loads_kg])

    def load_number(self, kg: float) -> str:
        """A load without its unit: 0.5 kg steps, whole pounds.

        >>> english.load_number(84.26), american.load_number(84.26)
        ('84.5', '186')
        """
        return self.number(self._rounded_load(kg), 1)

    def load(self, kg: float) -> str:
        """A load with its unit.

        >>> english.load(84.26), american.load(100)
        ('84.5\\xa0kg', '220\\xa0lb')
        """
        return _load(self.words, self.units, self._rounded_load(kg))

    def _rounded_load(self, kg: float) -> float:
        return nearest(kg, 0.5) if self.units == "kg" else nearest(kg * LB_PER_KG)

    @property
    def load_step(self) -> float:
        """The step in which loads are written, in the club's units."""
        return 0.5 if self.units == "kg" else 1.0

    def slider(self, kg: float, away_kg: float = 0.0) -> str:
        """A load as the value of an input: on a step, `away_kg` further out, a plain point.

        >>> english.slider(84.26), english.slider(84.26, -4.0), american.slider(84.26)
        ('84.5', '80.5', '186')
        """
        return plain_point(nearest(self._converted(kg + away_kg), self.load_step))

    def bar(self, kg: float) -> str:
        """A load on the platform: whole kilos whatever the club's units, as the rules have it.

        >>> english.bar(84.4), american.bar(84.4)
        ('84\\xa0kg', '84\\xa0kg')
        """
        return f"{self.number(kg)}{NBSP}kg"

    def body_class(self, limit_kg: float, *, above: bool = False) -> str:
        """A body-mass class by its limit, in kilos as the federation names it.

        >>> english.body_class(64.0), english.body_class(86.0, above=True)
        ('64\\xa0kg', '+86\\xa0kg')
        """
        return f"{'+' if above else ''}{self.number(limit_kg, 2)}{NBSP}kg"

    def load_range(self, low_kg: float, high_kg: float) -> str:
        """The ends of an interval, rounded outwards.

        >>> english.load_range(82.2, 86.4)
        '82\\xa0to\\xa087'
        """
        per_kg = self.per_kg
        low = math.floor(low_kg * per_kg + 1e-9)
        high = math.ceil(high_kg * per_kg - 1e-9)
        return _whole_range(self.words, low, high)

    def interval(self, kg: float, low_kg: float, high_kg: float) -> str:
        """A load and its interval.

        >>> english.interval(84.26, 82.2, 86.4)
        '84.5\\xa0kg (82\\xa0to\\xa087)'
        """
        return f"{self.load(kg)} ({self.load_range(low_kg, high_kg)})"

    def written(self, kg: float, units: Units) -> str:
        """A load as the coach wrote it, in the units of the coach's file.

        >>> english.written(61.23, "lb"), english.written(87.5, "kg")
        ('135\\xa0lb', '87.5\\xa0kg')
        """
        value = kg if units == "kg" else kg * LB_PER_KG
        return f"{self.number(value, _WRITTEN_DECIMALS[units])}{NBSP}{units}"

    def gain_number(self, kg: float) -> int:
        """Kilos (or pounds) to gain, whole: finer would claim too much.

        >>> english.gain_number(4.6), english.gain_number(-0.3)
        (5, 0)
        """
        return int(nearest(self._converted(kg)))

    def gain(self, kg: float) -> str:
        """Kilos to gain, in words.

        >>> english.gain(1.2), english.gain(4.6), american.gain(4.6)
        ('1 kilo', '5 kilos', '10 pounds')
        """
        number = self.gain_number(kg)
        if self.units == "kg":
            text = self.words.ngettext("{number} kilo", "{number} kilos", abs(number))
        else:
            text = self.words.ngettext("{number} pound", "{number} pounds", abs(number))
        return text.format(number=self.number(number))

    def gain_short(self, kg: float) -> str:
        """Kilos to gain for charts.

        >>> english.gain_short(4.6)
        '5\\xa0kg'
        """
        return f"{self.number(self.gain_number(kg))}{NBSP}{self.units}"

    def gain_interval(self, kg: float, low_kg: float, high_kg: float) -> str:
        """Kilos to gain with their interval, short.

        >>> english.gain_interval(4.6, 0.8, 9.6)
        '5\\xa0kg (0\\xa0to\\xa010)'
        """
        return f"{self.gain_short(kg)} ({self.load_range(low_kg, high_kg)})"

    def change(self, kg: float) -> str:
        """A change of a load, with its sign.

        >>> english.change(2.6), english.change(-0.1)
        ('+2.5\\xa0kg', '0\\xa0kg')
        """
        value = nearest(kg, 0.5) if self.units == "kg" else nearest(self._converted(kg))
        return f"{self.signed(value, 1)}{NBSP}{self.units}"

    def change_between(self, then_kg: float, now_kg: float) -> str:
        """The change between two loads as they are shown, so that a reader's sum comes out.

        >>> english.change_between(82.1, 84.3), english.load(82.1), english.load(84.3)
        ('+2.5\\xa0kg', '82\\xa0kg', '84.5\\xa0kg')
        """
        if self.units == "kg":
            return self.change(nearest(now_kg, 0.5) - nearest(then_kg, 0.5))
        shown = nearest(self._converted(now_kg)) - nearest(self._converted(then_kg))
        return f"{self.signed(shown)}{NBSP}{self.units}"

    def change_range(self, low_kg: float, high_kg: float) -> str:
        """The ends of a change's interval.

        >>> english.change_range(-2.1, 4.4)
        '−2\\xa0to\\xa0+4.5\\xa0kg'
        """
        low = self.change(low_kg).removesuffix(f"{NBSP}{self.units}")
        return self.range(low, self.change(high_kg))

    def telling_range(self, low_kg: float, high_kg: float) -> str:
        """The same where it matters on which side of 0 an end lies: it never reads as 0.

        An end near 0 on its own side is only said to be over or under it; one across is given
        in tenths, rounded outwards. The second end may begin a line.

        >>> english.telling_range(0.05, 3.4), english.telling_range(-0.02, 3.9)
        ('over\\xa00\\xa0to +3.5\\xa0kg', '−0.1\\xa0to +4\\xa0kg')
        >>> english.telling_range(-2.1, 0.17), english.telling_range(-2.1, -0.17)
        ('−2\\xa0to +0.2\\xa0kg', '−2\\xa0to under\\xa00\\xa0kg')
        """
        _ = self.words._
        whole = self.change(0.0)
        low = self.change(low_kg).removesuffix(f"{NBSP}{self.units}")
        high = self.change(high_kg)
        if self.change(low_kg) == whole and low_kg:
            outwards = math.floor(10 * self._converted(low_kg) + 1e-9) / 10
            low = _("over\u00a00") if low_kg > 0 else self.signed(outwards, 1)
        if high == whole and high_kg:
            outwards = math.ceil(10 * self._converted(high_kg) - 1e-9) / 10
            text = _("under\u00a00") if high_kg < 0 else self.signed(outwards, 1)
            high = f"{text}{NBSP}{self.units}"
        return self.range(low, high).replace(f"{NBSP}{high}", f" {high}")

    def range(self, low: str, high: str) -> str:
        """Two ends in words.

        >>> english.range("1", "2")
        '1\\xa0to\\xa02'
        """
        return _range(self.words, low, high)

    def count_value(self, count: float) -> float:
        """An expected number of people for placing a mark in a chart, to a tenth.

        >>> english.count_value(3.14159)
        3.1
        """
        return to_tenths(count)

    # shares and chances

    def percent_number(self, share: float) -> str:
        """A share in whole percents, without the sign.

        >>> english.percent_number(0.784)
        '78'
        """
        return self.number(100 * share)

    def percent(self, share: float) -> str:
        """A share in whole percents.

        >>> english.percent(0.784), english.percent(-0.001)
        ('78%', '0%')
        """
        return self.words._("{number}%").format(number=self.percent_number(share))

    def signed_percent(self, share: float) -> str:
        """A difference in whole percents.

        >>> english.signed_percent(0.031), english.signed_percent(-0.031)
        ('+3%', '−3%')
        """
        return self.words._("{number}%").format(number=self.signed(100 * share))

    def small_percent(self, share: float) -> str:
        """A share of a few percent, to a tenth.

        >>> english.small_percent(0.024)
        '2.4%'
        """
        return self.words._("{number}%").format(number=self.number(100 * share, 1))

    def signed_small_percent(self, share: float) -> str:
        """A difference of a few percent, to a tenth.

        >>> english.signed_small_percent(-0.0098)
        '−1%'
        """
        return self.words._("{number}%").format(number=self.signed(100 * share, 1))

    def percent_interval(self, share: float, low: float, high: float) -> str:
        """A share and its interval.

        >>> english.percent_interval(0.784, 0.742, 0.823)
        '78% (74\\xa0to\\xa083)'
        """
        low_text = self.number(math.floor(100 * low + 1e-9))
        high_text = self.number(math.ceil(100 * high - 1e-9))
        return f"{self.percent(share)} ({self.range(low_text, high_text)})"

    def usual_range(self, low: float, high: float) -> str:
        """A published range of shares: to the nearest percent, it is no interval of ours.

        >>> english.usual_range(0.776, 0.846)
        '78\\xa0to\\xa085%'
        """
        ends = self.range(self.percent_number(low), self.percent_number(high))
        return self.words._("{number}%").format(number=ends)

    def percent_value(self, share: float) -> float:
        """A share in percent for placing a mark in a chart, to a tenth.

        >>> english.percent_value(0.78412)
        78.4
        """
        return to_tenths(100 * share)

    def bar_percent(self, share: float) -> str:
        """The length of a bar for a style sheet, to a tenth of a percent.

        >>> english.bar_percent(0.78412)
        '78.4%'
        """
        return f"{min(100.0, max(0.0, 100 * share)):.1f}%"

    def of_ten(self, chance: float) -> int:
        """A chance in whole tenths.

        >>> english.of_ten(0.74), english.of_ten(0.75)
        (7, 8)
        """
        return int(nearest(10 * chance))

    def chance(self, chance: float) -> str:
        """A chance the way people say it.

        >>> english.chance(0.74), english.chance(0.12)
        ('7 chances in\\xa010', '1 chance in\\xa010')
        >>> english.chance(0.97), english.chance(0.02)
        ('more than 9 chances in\\xa010', 'less than 1 chance in\\xa010')
        """
        tenths = self.of_ten(chance)
        if tenths <= 0:
            return self.words._("less than 1 chance in\u00a010")
        if tenths >= 10:
            return self.words._("more than 9 chances in\u00a010")
        return self.words.ngettext(
            "{number} chance in\u00a010", "{number} chances in\u00a010", tenths
        ).format(number=tenths)

    def in_ten(self, chance: float) -> str:
        """A chance, short, for tables and charts.

        >>> english.in_ten(0.74), english.in_ten(0.02), english.in_ten(0.99)
        ('7 in\\xa010', 'under 1 in\\xa010', 'over 9 in\\xa010')
        """
        tenths = self.of_ten(chance)
        if tenths <= 0:
            return self.words._("under 1 in\u00a010")
        if tenths >= 10:
            return self.words._("over 9 in\u00a010")
        return self.words._("{number} in\u00a010").format(number=tenths)

    def in_hundred(self, chance: float) -> str:
        """A small chance, in hundredths.

        >>> english.in_hundred(0.083), english.in_hundred(0.002)
        ('8 in\\xa0100', 'under 1 in\\xa0100')
        """
        hundredths = int(nearest(100 * chance))
        if hundredths <= 0:
            return self.words._("under 1 in\u00a0100")
        return self.words._("{number} in\u00a0100").format(number=self.number(hundredths))

    # the rest

    def bits(self, value: float) -> str:
        """Information, in bits.

        >>> english.bits(0.234)
        '0.23'
        """
        return self.number(value, 2)

    def times(self, value: float) -> str:
        """How many times something else.

        >>> english.times(1.6)
        '1.6\\xa0×'
        """
        return f"{self.number(value, 1)}{NBSP}×"

    def multiple(self, value: float) -> str:
        """How many times body mass.

        >>> english.multiple(1.337)
        '1.34'
        """
        return self.number(value, 2)

    def score(self, value: float) -> str:
        """A quality's score in standard deviations.

        >>> english.score(-0.84)
        '−0.8'
        """
        return self.signed(value, 1)

    def points(self, value: float) -> str:
        """A body-mass-scaled total: whole points, its interval is wider than one.

        >>> english.points(312.4)
        '312'
        """
        return self.number(value)

    def points_range(self, low: float, high: float) -> str:
        """The interval of a body-mass-scaled total, rounded outwards.

        >>> english.points_range(305.2, 319.9)
        '305\\xa0to\\xa0320'
        """
        return self.range(self.number(math.floor(low)), self.number(math.ceil(high)))

    def fine_percent(self, share: float) -> str:
        """An upper bound of a tiny share: the next power of ten above it, in percent.

        >>> english.fine_percent(3e-6), english.fine_percent(0.004), english.fine_percent(0.0)
        ('0.001%', '1%', '0.00001%')
        """
        digits = max(-5, math.ceil(math.log10(max(100 * share, 1e-9))))
        return self.words._("{number}%").format(number=self.number(10.0**digits, max(0, -digits)))

    def speed(self, metres_per_second: float) -> str:
        """A bar speed.

        >>> english.speed(1.214)
        '1.21\\xa0m/s'
        """
        return f"{self.number(metres_per_second, 2)}{NBSP}m/s"

    def body_mass(self, kg: float) -> str:
        """A body mass, to a tenth (a whole pound).

        >>> english.body_mass(63.44)
        '63.4\\xa0kg'
        """
        number = self.number(self._converted(kg), _WRITTEN_DECIMALS[self.units])
        return f"{number}{NBSP}{self.units}"

    def day(self, on: date) -> str:
        """A date in full.

        >>> english.day(date(2026, 10, 3))
        '3\\xa0October\\xa02026'
        """
        return _date(self.words, on, self.words.month(on.month))

    def short_day(self, on: date) -> str:
        """A date for tables.

        >>> english.short_day(date(2026, 10, 3))
        '3\\xa0Oct\\xa02026'
        """
        return _date(self.words, on, self.words.short_month(on.month))

    def around(self, on: date, told: Told) -> str:
        """A date as exactly as it was told.

        >>> english.around(date(2025, 7, 2), "year"), english.around(date(2025, 7, 16), "month")
        ('2025', 'July\\xa02025')
        """
        if told == "day":
            return self.day(on)
        return _month_or_year(self.words, on, told, self.words.month(on.month))

    def short_around(self, on: date, told: Told) -> str:
        """The same for tables.

        >>> english.short_around(date(2025, 9, 16), "month")
        'Sep\\xa02025'
        """
        if told == "day":
            return self.short_day(on)
        return _month_or_year(self.words, on, told, self.words.short_month(on.month))

    def capital(self, text: str) -> str:
        """A sentence's first letter.

        >>> english.capital("leg strength")
        'Leg strength'
        """
        return text[:1].upper() + text[1:]

    def listed(self, parts: list[str] | tuple[str, ...]) -> str:
        """Parts joined the way people list them.

        >>> english.listed(["a"]), english.listed(["a", "b"]), english.listed(["a", "b", "c"])
        ('a', 'a and b', 'a, b and c')
        """
        if len(parts) < 2:
            return "".join(parts)
        return self.words._("{most} and {last}").format(most=", ".join(parts[:-1]), last=parts[-1])


# For the examples above.
english = Format(words_in("en"))
american = Format(words_in("en"), "lb")
