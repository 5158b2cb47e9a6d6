"""How far readings repeat: typical error, intraclass correlation, minimal detectable and smallest change.

A table of trials has one row for each person and one column for each trial: ``P`` people, ``K`` trials.
Errors on the log scale are standard deviations of natural logarithms; as per cent they are 100 (e^s - 1).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import chi2, f

__all__ = [
    "MDC_90",
    "MDC_95",
    "Estimate",
    "IccForm",
    "MeanSquares",
    "intraclass_correlations",
    "mean_squares",
    "minimal_detectable_change",
    "minimal_detectable_percent",
    "percent_of",
    "sd_with_interval",
    "sem_from_icc",
    "smallest_worthwhile_change",
    "true_between_sd",
    "typical_error",
    "typical_error_about_zero",
    "typical_error_percent",
]

MDC_95, MDC_90 = 1.96, 1.645
"""Normal quantiles of a minimal detectable change, rounded as the literature rounds them (Weir 2005)."""
SMALLEST_SHARE = 0.2
"""Smallest worthwhile change as a share of the between-athlete SD (Hopkins 2004): a small standardised effect."""
TAIL = 0.025
"""Left out at either end of a central 95 % interval."""
LARGEST_LOG = 300.0
"""Beyond this the exponential says nothing, and leaves double precision when multiplied."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its central 95 % interval, and the number of people or pairs behind it."""

    value: float
    low: float
    high: float
    n: int


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Analysis of variance of a table of trials.

    Attributes
    ----------
    between, within : float
        Between people, and within people (one-way: trials count as error).
    trials, error : float
        Between trials, and what is left (two-way).
    people, columns : int
        Size of the table.
    """

    between: float
    within: float
    trials: float
    error: float
    people: int
    columns: int

    @property
    def df_between(self) -> int:
        """Degrees of freedom between people."""
        return self.people - 1

    @property
    def df_within(self) -> int:
        """Degrees of freedom within people."""
        return self.people * (self.columns - 1)

    @property
    def df_error(self) -> int:
        """Degrees of freedom of the two-way error."""
        return (self.people - 1) * (self.columns - 1)


class IccForm(StrEnum):
    """The six intraclass correlations of Shrout & Fleiss: model, then single trials or the mean of all K."""

    ONE_WAY = "ICC(1,1)"
    AGREEMENT = "ICC(2,1)"
    CONSISTENCY = "ICC(3,1)"
    ONE_WAY_MEAN = "ICC(1,k)"
    AGREEMENT_MEAN = "ICC(2,k)"
    CONSISTENCY_MEAN = "ICC(3,k)"


def mean_squares(trials: ArrayLike) -> MeanSquares:
    """Analyse a table of trials by people and columns.

    Parameters
    ----------
    trials : (P, K) array-like
        At least two people and two trials, all finite.

    Raises
    ------
    ValueError
        When the table is smaller, or holds a value that is not finite.
    """
    table = np.asarray(trials, dtype=np.float64)
    if table.ndim != 2 or min(table.shape) < 2 or not np.isfinite(table).all():
        raise ValueError("a table of trials needs at least two people and two columns of finite numbers")
    people, columns = table.shape
    of_people = table.mean(axis=1, keepdims=True)
    of_trials = table.mean(axis=0, keepdims=True)
    left = table - of_people - of_trials + table.mean()
    return MeanSquares(
        between=columns * float(np.var(of_people, ddof=1)),
        within=float(np.sum((table - of_people) ** 2)) / (people * (columns - 1)),
        trials=people * float(np.var(of_trials, ddof=1)),
        error=float(np.sum(left**2)) / ((people - 1) * (columns - 1)),
        people=people,
        columns=columns,
    )


def typical_error(trials: ArrayLike) -> Estimate:
    """Within-person SD with the mean change between trials removed.

    Parameters
    ----------
    trials : (P, K) array-like
        In one unit, or natural logarithms.

    Returns
    -------
    Estimate
        In that unit; ``n`` people.

    Notes
    -----
    √EMS of the two-way analysis; for two trials the SD of the differences ÷ √2. The interval is that of a
    chi-square with (P - 1)(K - 1) degrees of freedom.

    References
    ----------
    Hopkins 2000, Sports Med 30:1-15.
    """
    found = mean_squares(trials)
    return sd_with_interval(math.sqrt(found.error), found.df_error, found.people)


def typical_error_about_zero(trials: ArrayLike) -> Estimate:
    """Within-person SD about no change: a change of the mean from trial to trial counts as error.

    Parameters
    ----------
    trials : (P, K) array-like

    Returns
    -------
    Estimate

    Notes
    -----
    √WMS of the one-way analysis; for two trials √(Σd² ÷ 2P). The chi-square has P(K - 1) degrees of freedom.

    References
    ----------
    Bland & Altman 1986, Lancet i:307-310.
    """
    found = mean_squares(trials)
    return sd_with_interval(math.sqrt(found.within), found.df_within, found.people)


def typical_error_percent(trials: ArrayLike) -> Estimate:
    """Typical error as a coefficient of variation, from natural logarithms, mean change removed.

    Parameters
    ----------
    trials : (P, K) array-like
        All above zero.

    Returns
    -------
    Estimate
        In %: 100 (e^s - 1), s the typical error of the logarithms.

    References
    ----------
    Hopkins 2000, Sports Med 30:1-15.
    """
    table = np.asarray(trials, dtype=np.float64)
    if not (table > 0).all():
        raise ValueError("only values above zero have a logarithm")
    error = typical_error(np.log(table))
    return Estimate(percent_of(error.value), percent_of(error.low), percent_of(error.high), error.n)


def percent_of(log_value: float) -> float:
    """Turn a log ratio or a log SD into per cent: 100 (e^x - 1)."""
    return 100 * math.expm1(min(log_value, LARGEST_LOG))


def sd_with_interval(sd: float, degrees_of_freedom: float, n: int) -> Estimate:
    """Give an SD its chi-square interval: sd √(df ÷ χ²) at both tails; df need not be whole."""
    low, high = (sd * math.sqrt(degrees_of_freedom / float(chi2.ppf(p, degrees_of_freedom))) for p in (1 - TAIL, TAIL))
    return Estimate(sd, low, high, n)


def sem_from_icc(sd: float, icc: float) -> float:
    """Give the standard error of measurement, SD √(1 - ICC), in the unit of ``sd``.

    It equals the typical error only for the consistency form and the pooled SD of the same table (Weir 2005,
    J Strength Cond Res 19:231-240): with another ICC or SD it is another number.
    """
    return sd * math.sqrt(max(1 - icc, 0.0))


def minimal_detectable_change(error: float, z: float = MDC_95, *, against: int = 1) -> float:
    """Smallest change of one person beyond the error of the two readings compared.

    Parameters
    ----------
    error : float
        Typical error of one reading, in any unit.
    z : float
        `MDC_95` or `MDC_90`.
    against : int
        Readings in the mean that the new one is compared with.

    Returns
    -------
    float
        z √(1 + 1 ÷ against) error; z √2 error against a single reading.

    References
    ----------
    Weir 2005, J Strength Cond Res 19:231-240.
    """
    return z * math.sqrt(1 + 1 / against) * error


def minimal_detectable_percent(log_error: float, z: float = MDC_95, *, against: int = 1) -> tuple[float, float]:
    """Give the minimal detectable fall (negative) and rise in %, from an error on the log scale.

    They differ: exp(±z √2 s) - 1. A rise must be larger than a fall.

    Examples
    --------
    >>> down, up = minimal_detectable_percent(math.log(1.063))
    >>> round(down, 1), round(up, 1)
    (-15.6, 18.5)
    """
    change = minimal_detectable_change(log_error, z, against=against)
    return percent_of(-change), percent_of(change)


def true_between_sd(observed_sd: float, error: float) -> float | None:
    """SD between athletes net of the error in each value: √(SD² - error²); None if the error explains it all."""
    variance = observed_sd**2 - error**2
    return math.sqrt(variance) if variance > 0 else None


def smallest_worthwhile_change(between_sd: float) -> float:
    """0.2 × the between-athlete SD net of error, in its unit (Hopkins 2004, Sportscience 8:1-7, from memory)."""
    return SMALLEST_SHARE * between_sd


def intraclass_correlations(trials: ArrayLike) -> Mapping[IccForm, Estimate]:
    """Six intraclass correlations with F-based 95 % intervals.

    Parameters
    ----------
    trials : (P, K) array-like
        People by judges, days or trials.

    Returns
    -------
    mapping of IccForm to Estimate
        A form without a value is left out: where people do not differ at all, or the mean squares allow none.

    References
    ----------
    Shrout & Fleiss 1979, Psychol Bull 86:420-428; intervals of McGraw & Wong 1996, Psychol Methods 1:30-46, table 7.
    """
    found = mean_squares(trials)
    if found.between <= 0:
        return {}
    k, spread = found.columns, (found.trials - found.error) / found.people
    df_two_way = (found.df_between, _df_of_agreement(found))
    models = {
        (IccForm.ONE_WAY, IccForm.ONE_WAY_MEAN): (found.within, 0.0, (found.df_between, found.df_within)),
        (IccForm.AGREEMENT, IccForm.AGREEMENT_MEAN): (found.error, spread, df_two_way),
        (IccForm.CONSISTENCY, IccForm.CONSISTENCY_MEAN): (found.error, 0.0, (found.df_between, found.df_error)),
    }
    correlations: dict[IccForm, Estimate] = {}
    for forms, (error, trials_spread, df) in models.items():
        upper, lower = float(f.isf(TAIL, *df)), float(f.isf(TAIL, *reversed(df)))
        # The mean square between people against an error that is as estimated, at its highest, at its lowest.
        places = [
            (found.between, error, trials_spread),
            (found.between, upper * error, upper * trials_spread),
            (lower * found.between, error, trials_spread),
        ]
        for form, others in zip(forms, (k - 1.0, 0.0), strict=True):
            ends = [_correlation(*place, others) for place in places]
            if all(math.isfinite(end) for end in ends):
                correlations[form] = Estimate(ends[0], ends[1], ends[2], found.people)
    return correlations


def _correlation(between: float, error: float, trials: float, others: float) -> float:
    """Share of the variance that lies between people; ``others`` is K - 1 for one trial, 0 for the mean of K."""
    below = between + others * error + (others + 1) * trials
    return (between - error) / below if below > 0 else math.inf


def _df_of_agreement(found: MeanSquares) -> float:
    """Satterthwaite's degrees of freedom of the error of ICC(2,1)."""
    n, k, e, j = found.people, found.columns, found.error, found.trials
    icc = _correlation(found.between, e, (j - e) / n, k - 1)
    share = e * (n * (1 + (k - 1) * icc) - k * icc)
    below = (n - 1) * (k * icc * j) ** 2 + share**2
    return (k - 1) * (n - 1) * (k * icc * j + share) ** 2 / below if below > 0 else found.df_error
