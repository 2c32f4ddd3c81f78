"""Every table of the studio, so that one import knows them all."""

from service.records.tables.books import EarlierPay, RateGuess, StitcherPayment
from service.records.tables.cloth import Cloth, ClothReading, ClothSwatch, ClothUse, Supply, SupplyUse
from service.records.tables.commissions import ChildMeasure, Commission
from service.records.tables.designs import Design
from service.records.tables.diary import CalendarLink, ExtraMinutes, PlannedHands
from service.records.tables.doors import KnownBrowser, RecoveryCode, SecondStep, SignInTry, WayIn
from service.records.tables.erasure import Erasure, Keeping
from service.records.tables.finishing import FinishingCheck
from service.records.tables.garments import Garment, Panel, Section, Step
from service.records.tables.handovers import BrokenSharp, Handover, HandoverMaterial, HandoverPanel, HandoverPlace
from service.records.tables.log import Tally
from service.records.tables.papers import ClothFibre, Maker, RiskConsidered
from service.records.tables.people import AccessToken, Account, Client, LoginSession, Stitcher, StitcherAway
from service.records.tables.photos import Photo
from service.records.tables.quotes import (
    Charges,
    ChargesInstalment,
    Payment,
    Quote,
    QuoteGarment,
    QuoteInstalment,
    QuoteLine,
    QuoteWork,
)
from service.records.tables.reckoner import KeptResult
from service.records.tables.seals import EventSeal, LastSeal
from service.records.tables.sittings import NeedleCount, TableWish
from service.records.tables.studio import Event, LookedAt, Studio
from service.records.tables.thread import ThreadUsed
from service.records.tables.window import ClientWish, MessageWords, ShareLink, WindowVisit

__all__ = [
    "AccessToken",
    "Account",
    "BrokenSharp",
    "CalendarLink",
    "Charges",
    "ChargesInstalment",
    "ChildMeasure",
    "Client",
    "ClientWish",
    "Cloth",
    "ClothFibre",
    "ClothReading",
    "ClothSwatch",
    "ClothUse",
    "Commission",
    "Design",
    "EarlierPay",
    "Erasure",
    "Event",
    "EventSeal",
    "ExtraMinutes",
    "FinishingCheck",
    "Garment",
    "Handover",
    "HandoverMaterial",
    "HandoverPanel",
    "HandoverPlace",
    "Keeping",
    "KeptResult",
    "KnownBrowser",
    "LastSeal",
    "LoginSession",
    "LookedAt",
    "Maker",
    "MessageWords",
    "NeedleCount",
    "Panel",
    "Payment",
    "Photo",
    "PlannedHands",
    "Quote",
    "QuoteGarment",
    "QuoteInstalment",
    "QuoteLine",
    "QuoteWork",
    "RateGuess",
    "RecoveryCode",
    "RiskConsidered",
    "SecondStep",
    "Section",
    "ShareLink",
    "SignInTry",
    "Step",
    "Stitcher",
    "StitcherAway",
    "StitcherPayment",
    "Studio",
    "Supply",
    "SupplyUse",
    "TableWish",
    "Tally",
    "ThreadUsed",
    "WayIn",
    "WindowVisit",
]
