"""Money and prices against published tables and another library."""

import pytest
from scipy import optimize, stats

from service.reckoning.money import exactly, minor_digits, shared_out
from service.reckoning.price import quoted_chance

# ISO 4217, list one, column "minor unit", as published by SIX and copied in the data package datasets/currency-codes
NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
THREE = "BHD IQD JOD KWD LYD OMR TND"
FOUR = "CLF UYW"
TWO = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF CHW CNY COP
COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD
KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK
NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT
TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG
"""


@pytest.mark.parametrize(("digits", "currencies"), [(0, NONE), (2, TWO), (3, THREE), (4, FOUR)])
def test_minor_units_are_those_of_iso_4217(digits: int, currencies: str) -> None:
    for currency in currencies.split():
        assert (currency, minor_digits(currency)) == (currency, digits)


def test_seats_by_largest_remainder_as_in_the_textbook() -> None:
    """A textbook's six parties, 100,000 votes for 10 seats: 47, 16, 15.9, 12, 6 and 3.1 thousand (from memory)."""
    votes = (47_000, 16_000, 15_900, 12_000, 6_000, 3_100)
    assert shared_out(10, [exactly("votes", each) for each in votes]) == (5, 2, 1, 1, 1, 0)


@pytest.mark.parametrize(("missed", "lost"), [(3650, 1825), (3000, 2000), (4000, 1000)])
def test_the_quoted_chance_is_where_the_expected_loss_is_least(missed: int, lost: int) -> None:
    """The newsvendor's rule (Edgeworth 1888; Arrow, Harris & Marschak 1951) against scipy's minimum."""
    hours = stats.lognorm(0.18, scale=14)

    def loss(quoted: float) -> float:
        short = hours.expect(lambda t: t - quoted, lb=quoted)
        long = hours.expect(lambda t: quoted - t, ub=quoted)
        return float(missed * short + lost * long)

    best = optimize.minimize_scalar(loss, bounds=(8, 25), method="bounded", options={"xatol": 1e-6}).x
    assert hours.cdf(best) == pytest.approx(quoted_chance(missed, lost), abs=1e-4)
