"""What pages say of a child's size on the day: for cutting cloth, never a word about health."""

from dataclasses import dataclass

from service.drawing.fit_drawing import fit_drawing
from service.reckoning.findings import Finding
from service.reckoning.fit import Fit, Span
from service.reckoning.fit_garment import MadeFor
from service.reckoning.growth_tables import ATTRIBUTION
from service.reckoning.lengths import unit_called
from service.records.tables import Studio
from service.web.words import measure, tidy

SOURCE = (
    f"{ATTRIBUTION} Carried from one age to another as T. J. Cole, Arch Dis Child 73 (1995), and S. van Buuren, "
    "Ann Hum Biol 50 (2023), doi 10.1080/03014460.2023.2190619 (CC BY 4.0), show."
)


@dataclass(frozen=True, slots=True)
class FitLine:
    """One measure on the day: its middle, what is likely, what to allow for."""

    words: str
    middle: str
    likely: str
    allow: str


@dataclass(frozen=True, slots=True)
class FitShown:
    """A fit as pages show it: the summary, the lines, what else to know, and the drawing."""

    told: str
    lines: tuple[FitLine, ...]
    findings: tuple[Finding, ...]
    size: str
    drawing: str


def fit_shown(fit: Fit, studio: Studio, made_for: MadeFor | None = None) -> FitShown:
    """The fit in words; the first finding of a fit is its summary."""
    summary, *others = fit.findings
    return FitShown(
        told=summary.text,
        lines=(
            _line("Length", fit.length_mm, studio),
            _line("Head", fit.head_mm, studio),
            _weight(fit.weight_g),
        ),
        findings=tuple(others),
        size=_size(fit),
        drawing=fit_drawing(fit, made_for, unit=unit_called(studio.length_unit)),
    )


def _size(fit: Fit) -> str:
    if fit.size.middle == fit.size.likely_high:
        return f"{fit.size.middle}, for the middle and for the upper end of what is likely"
    return f"{fit.size.middle} for the middle, {fit.size.likely_high} for the upper end of what is likely"


def _line(words: str, span: Span, studio: Studio) -> FitLine:
    unit = studio.length_unit

    def said(limits: tuple[float, float]) -> str:
        low, high = (measure(limit * 1000, unit) for limit in limits)
        return f"{low.partition(' ')[0]} to {high}"

    return FitLine(words, measure(span.middle * 1000, unit), said(span.likely), said(span.allow))


def _weight(span: Span) -> FitLine:
    likely, allow = (f"{tidy(low / 1000)} to {tidy(high / 1000)} kg" for low, high in (span.likely, span.allow))
    return FitLine("Weight", f"{tidy(span.middle / 1000)} kg", likely, allow)
