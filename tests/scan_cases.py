"""
Codes as scanners send them, and what they say: shared by the tests of reader and tablet.

Product numbers begin with 952, the prefix that GS1 sets aside for examples, unless a published
example has another. `G` is the separator as a scanner sends it. "Library": the value was taken from
biip 5.2 or python-stdnum 2.2.
"""

from dataclasses import dataclass, field
from datetime import date

TODAY = date(2026, 11, 30)
G = "\x1d"
GTIN = "09521234543213"
P = f"01{GTIN}"
NOVEMBER = date(2027, 11, 30)

NO_LOT = "holds no lot number: type the lot number"
NO_EXPIRY = "holds no expiry: type the expiry"
NEITHER = "holds no lot number and no expiry: type the lot number and the expiry"
NO_PRODUCT = "holds no product number: choose the product"
PLAIN = "not a GS1 code"
MONTH_ONLY = "gives the month of expiry only"
TWO_ENTRIES = "may be two entries"
UNLIKELY = "lies more than 10 years from today"
PASSED = "has passed: do not use this pack"


@dataclass(frozen=True)
class Read:
    """A code that is read; `warnings` are parts of the sentences, in their order."""

    why: str
    text: str
    gtin: str = GTIN
    lot: str = ""
    expiry: date | None = None
    serial: str = ""
    warnings: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Refused:
    """A code that is refused, and a part of the sentence that says why."""

    why: str
    text: str
    because: str


ELEMENT_STRINGS = [
    Read("fixed entries first, lot last", f"{P}1727113010LOT42", lot="LOT42", expiry=NOVEMBER),
    Read("lot closed by a separator", f"{P}10LOT42{G}17271130", lot="LOT42", expiry=NOVEMBER),
    Read(
        "the order is free",
        f"17271130{P}10LOT42{G}21SER9",
        lot="LOT42",
        expiry=NOVEMBER,
        serial="SER9",
    ),
    Read(
        "a separator at the end",
        f"{P}1727113010LOT42{G}",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read("a separator in front", f"{G}{P}", warnings=[NEITHER]),
    Read(
        "separators after entries of fixed length (section 7.8.6)",
        f"{P}{G}17271130{G}10LOT42",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read("| stands for the separator", f"{P}10LOT42|17271130", lot="LOT42", expiry=NOVEMBER),
    Read("| in front and at the end", f"|{P}10LOT42|", lot="LOT42", warnings=[NO_EXPIRY]),
    Read("a lot of 20 characters", f"{P}10{'A' * 20}", lot="A" * 20, warnings=[NO_EXPIRY]),
    Read(
        "production and expiry, signs in the lot",
        f"{P}112701011728123110B-1/2",
        lot="B-1/2",
        expiry=date(2028, 12, 31),
    ),
    Read("case of the lot is kept", f"10lot42{G}{P}", lot="lot42", warnings=[NO_EXPIRY]),
    Read("zeros of the lot are kept", f"{P}10000123", lot="000123", warnings=[NO_EXPIRY]),
    Read(
        "signs of character set 82",
        f"{P}10abc+(1)_%",
        lot="abc+(1)_%",
        warnings=[NO_EXPIRY],
    ),
    Read("% is a character of the lot", f"{P}10LOT%2042", lot="LOT%2042", warnings=[NO_EXPIRY]),
    Read("the same product twice", f"{P}{P}", warnings=[NEITHER]),
    Read("the same lot twice", f"{P}10A{G}10A{G}", lot="A", warnings=[NO_EXPIRY]),
    Read("an entry we do not use", f"240REF-7{G}{P}", warnings=[NEITHER]),
    Read("a maker's own entry", f"{P}10A{G}91any%thing", lot="A", warnings=[NO_EXPIRY]),
    Read(
        "expiry with time",
        f"{P}70032711301430",
        expiry=NOVEMBER,
        warnings=[NO_LOT],
    ),
    Read(
        "expiry with time, then a lot: fixed length, so no separator is missed",
        f"{P}7003271130143010LOT42",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read(
        "expiry and expiry with time agree",
        f"{P}1727113070032711301430{G}10LOT42",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read(
        "no product",
        "17271130",
        gtin="",
        expiry=NOVEMBER,
        warnings=["no product number and no lot number: choose the product, type the lot number"],
    ),
    Read(
        "no product, but lot and expiry",
        "1727113010LOT42",
        gtin="",
        lot="LOT42",
        expiry=NOVEMBER,
        warnings=[NO_PRODUCT],
    ),
    Read("a case of ten is another item", "0119521234543210", "19521234543210", warnings=[NEITHER]),
    Read("blank and line end around it", f" {P}10A\r\n", lot="A", warnings=[NO_EXPIRY]),
    Read("tab after it", f"{P}10A\t", lot="A", warnings=[NO_EXPIRY]),
    Read("content of a shipment", f"00095212345432131236{P}10A", lot="A", warnings=[NO_EXPIRY]),
]

GLUED = [
    Read(
        "separator dropped, serial swallowed",
        f"{P}1727113010LOT4221SER9",
        lot="LOT4221SER9",
        expiry=NOVEMBER,
        warnings=["“LOT42”, followed by the serial number (21) “SER9”"],
    ),
    Read(
        "separator dropped, expiry swallowed",
        f"{P}10LOT4217271130",
        lot="LOT4217271130",
        warnings=[NO_EXPIRY, "“LOT42”, followed by the expiry (17) “271130”"],
    ),
    Read(
        "separator dropped after the serial number",
        f"{P}21SER917271130",
        serial="SER917271130",
        warnings=[NEITHER, "“SER9”, followed by the expiry (17) “271130”"],
    ),
    Read(
        "separator dropped, product number swallowed",
        f"10A{P}",
        gtin="",
        lot=f"A{P}",
        warnings=["no product number and no expiry", "the product number (01) “09521234543213”"],
    ),
    Read(
        "closed by a separator: nothing can be glued",
        f"{P}10LOT4221SER9{G}17271130",
        lot="LOT4221SER9",
        expiry=NOVEMBER,
    ),
    Read(
        "the code has an expiry already, 17 in the lot is no second one",
        f"{P}1727113010LOT17271130",
        lot="LOT17271130",
        expiry=NOVEMBER,
    ),
    Read("year and month in the lot", f"{P}1727113010LM2406A", lot="LM2406A", expiry=NOVEMBER),
    Read("17 and no date after it", f"{P}1727113010L17999999", lot="L17999999", expiry=NOVEMBER),
]

DATES = [
    Read(
        "day 00: last of February",
        f"{P}1727020010A",
        lot="A",
        expiry=date(2027, 2, 28),
        warnings=[MONTH_ONLY],
    ),
    Read(
        "day 00 in a leap year",
        f"{P}1728020010A",
        lot="A",
        expiry=date(2028, 2, 29),
        warnings=[MONTH_ONLY],
    ),
    Read(
        "day 00 of a month of 31",
        f"{P}1727050010A",
        lot="A",
        expiry=date(2027, 5, 31),
        warnings=[MONTH_ONLY],
    ),
    Read("29 February of a leap year", f"{P}1728022910A", lot="A", expiry=date(2028, 2, 29)),
    Read("expires today: still usable", f"{P}1726113010A", lot="A", expiry=TODAY),
    Read(
        "expired yesterday",
        f"{P}1726112910A",
        lot="A",
        expiry=date(2026, 11, 29),
        warnings=[PASSED],
    ),
    Read("ten years from today", f"{P}1736113010A", lot="A", expiry=date(2036, 11, 30)),
    Read(
        "ten years and a day: a wrong scan",
        f"{P}1736120110A",
        lot="A",
        expiry=date(2036, 12, 1),
        warnings=[UNLIKELY],
    ),
    Read(
        "76 is 2076 (library)",
        f"{P}1776063010A",
        lot="A",
        expiry=date(2076, 6, 30),
        warnings=[UNLIKELY],
    ),
    Read(
        "77 is 1977 (library)",
        f"{P}1777063010A",
        lot="A",
        expiry=date(1977, 6, 30),
        warnings=[UNLIKELY],
    ),
    Read(
        "made after it expires",
        f"{P}112801011727113010A",
        lot="A",
        expiry=NOVEMBER,
        warnings=["lies after the expiry"],
    ),
    Read(
        "best before is no expiry",
        f"{P}1527113010A",
        lot="A",
        warnings=[NO_EXPIRY, "best-before date, 30 November 2027, which is no expiry"],
    ),
]

CARRIERS = [
    Read("GS1-128", f"]C1{P}1727113010A", lot="A", expiry=NOVEMBER),
    Read("GS1 DataMatrix", f"]d2{P}1727113010A", lot="A", expiry=NOVEMBER),
    Read("GS1 QR Code", f"]Q3{P}1727113010A", lot="A", expiry=NOVEMBER),
    Read("GS1 DataBar", f"]e0{P}1727113010A", lot="A", expiry=NOVEMBER),
    Read("GS1 DotCode", f"]J1{P}1727113010A", lot="A", expiry=NOVEMBER),
    Read("plain Code 128", f"]C0{P}1727113010A", lot="A", expiry=NOVEMBER, warnings=[PLAIN]),
    Read("plain Data Matrix", f"]d1{P}1727113010A", lot="A", expiry=NOVEMBER, warnings=[PLAIN]),
    Read("plain QR code", f"]Q1{P}1727113010A", lot="A", expiry=NOVEMBER, warnings=[PLAIN]),
    Read("Code 39", f"]A0{P}1727113010A", lot="A", expiry=NOVEMBER, warnings=[PLAIN]),
    Read("EAN-13", "]E09521234543213", warnings=[NEITHER]),
    Read("EAN-8", "]E495212340", "00000095212340", warnings=[NEITHER]),
    Read("ITF-14", f"]I1{GTIN}", warnings=[NEITHER]),
    Read("digits in a GS1-128 are entries", "]C117271130", "", expiry=NOVEMBER,
         warnings=["no product number and no lot number"]),
]  # fmt: skip

NUMBERS_ALONE = [
    Read("13 digits under the bars", "9521234543213", warnings=[NEITHER]),
    Read("the same as 14 digits", GTIN, warnings=[NEITHER]),
    Read("typed with the blanks of the print", "9 521234 543213", warnings=[NEITHER]),
    Read("8 digits", "95212340", "00000095212340", warnings=[NEITHER]),
    Read("textbook UPC-A (library)", "036000291452", "00036000291452", warnings=[NEITHER]),
    Read("textbook EAN-13 (library)", "4006381333931", "04006381333931", warnings=[NEITHER]),
    # Check digits printed on help pages of GS1 member organisations.
    Read("GS1 example 7300011000017", "7300011000017", "07300011000017", warnings=[NEITHER]),
    Read("GS1 example 8904000210037", "8904000210037", "08904000210037", warnings=[NEITHER]),
    Read("GS1 example 6291041500213", "6291041500213", "06291041500213", warnings=[NEITHER]),
    Read("digits with a wrong check digit that are a lot", "1012345678901", "", lot="12345678901",
         warnings=["no product number and no expiry"]),
]  # fmt: skip

PRINTED = [
    Read("as printed", f"(01){GTIN}(17)271130(10)LOT42", lot="LOT42", expiry=NOVEMBER),
    Read("blanks between", f"(01) {GTIN} (10) LOT42", lot="LOT42", warnings=[NO_EXPIRY]),
    Read("blanks in the number", "(01) 0 9521234 54321 3 (10)A", lot="A", warnings=[NO_EXPIRY]),
    Read("nothing is glued here", f"(01){GTIN}(17)271130(10)LOT4221SER9", lot="LOT4221SER9",
         expiry=NOVEMBER),
]  # fmt: skip

WEB_ADDRESSES = [
    Read(
        "GS1 Digital Link",
        f"https://id.example.org/01/{GTIN}/10/LOT42?17=271130",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read(
        "in a plain QR code, where it belongs",
        f"]Q1https://id.example.org/01/{GTIN}/10/LOT42?17=271130",
        lot="LOT42",
        expiry=NOVEMBER,
    ),
    Read(
        "a path before, serial, 13 digits, another parameter",
        "HTTPS://EXAMPLE.ORG/shop/01/9521234543213/10/L%2F1/21/S?17=271130&lang=en",
        lot="L/1",
        expiry=NOVEMBER,
        serial="S",
    ),
    Read(
        "the same expiry twice",
        f"https://id.example.org/01/{GTIN}/10/A?17=271130&17=271130",
        lot="A",
        expiry=NOVEMBER,
    ),
]

PUBLISHED = [
    # GS1 DataMatrix Guideline, the example of its overview.
    Read(
        "GS1 DataMatrix Guideline",
        "]d201034531200000111719112510ABCD1234",
        "03453120000011",
        "ABCD1234",
        date(2019, 11, 25),
        warnings=[PASSED],
    ),
    # GS1 Barcode Syntax Engine, its own tests of scan data: what readers transmit for one message.
    *(
        Read(
            f"GS1 Barcode Syntax Engine, {carrier}",
            f"{carrier}011231231231233310ABC123{G}99TESTING",
            "12312312312333",
            "ABC123",
            warnings=[NO_EXPIRY],
        )
        for carrier in ("]Q3", "]d2", "]J1", "]e0", "]C1")
    ),
    Read(
        "GS1 Barcode Syntax Engine: a separator at the end is transmitted",
        f"]d2011231231231233310ABC123{G}99TESTING{G}",
        "12312312312333",
        "ABC123",
        warnings=[NO_EXPIRY],
    ),
    Read("GS1 Barcode Syntax Engine, EAN-13", "]E02112345678900", "02112345678900",
         warnings=[NEITHER]),
    Read("GS1 Barcode Syntax Engine, UPC-A", "]E00416000336108", "00416000336108",
         warnings=[NEITHER]),
    Read("GS1 Barcode Syntax Engine, EAN-8", "]E402345673", "00000002345673",
         warnings=[NEITHER]),
    # A public page on GS1 data for medicines, "GS1 Data Example".
    Read(
        "pack of a medicine, day 00",
        f"010506091751001110628S93R{G}17241000218898847482518646",
        "05060917510011",
        "628S93R",
        date(2024, 10, 31),
        "8898847482518646",
        warnings=[MONTH_ONLY, PASSED],
    ),
]  # fmt: skip

READ = [
    *ELEMENT_STRINGS, *GLUED, *DATES, *CARRIERS, *NUMBERS_ALONE, *PRINTED, *WEB_ADDRESSES,
    *PUBLISHED,
]  # fmt: skip

REFUSED = [
    Refused("nothing", "", "Nothing was read"),
    Refused("blanks", " \r\n", "Nothing was read"),
    Refused("separators alone", f"{G}|{G}", "Nothing was read"),
    Refused("more than one code can hold", "9" * 501, "longer than any code on a pack"),
    Refused("no code", "LOT42", "not a GS1 code"),
    Refused("an unknown identifier", "]?", "names no kind of barcode"),
    # The library parses it and reports the wrong digit beside the result.
    Refused("wrong check digit", "010952123454321017271130", "should be 3, not 0"),
    Refused("wrong check digit, GTIN alone", "9521234543210", "should be 3, not 0"),
    Refused("a digit lost", "952123454321", "should be 4, not 1"),
    Refused("wrong check digit in brackets", "(01)09521234543210", "should be 3, not 0"),
    Refused("wrong check digit in an address", "https://e.org/01/09521234543210", "should be 3"),
    Refused("a product number of zeros", "0100000000000000", "zeros names no product"),
    Refused("month 13", f"{P}17271331", "expiry (17) cannot be “271331”"),
    Refused("month 00", f"{P}17000000", "expiry (17) “000000” is no day of the calendar"),
    Refused("31 February", f"{P}17270231", "expiry (17) “270231” is no day of the calendar"),
    Refused("29 February of a plain year", f"{P}17270229", "is no day of the calendar"),
    Refused("production on 31 June", f"{P}11270631", "production date (11) “270631” is no day"),
    Refused("month 13 in an expiry with time", f"{P}70032713011200", "is no day of the calendar"),
    Refused("25 o'clock", f"{P}70032711302500", "is no time of day"),
    Refused("a date of four digits", f"{P}171130", "expiry (17) cannot be “1130”"),
    Refused("cut off", "01095212345432", "product number (01) cannot be “095212345432”"),
    Refused("a lot of 21 characters", f"{P}10{'A' * 21}", "longer than 20 characters"),
    # The library takes the first 20 characters for the lot and reads on in its middle.
    Refused(
        "a swallowed entry that fills the lot and spills over",
        f"{P}10ABCDEFGHIJKLMNOPQRST17271130",
        "its separator was lost",
    ),
    Refused("a blank in the lot", "10LOT 42", "cannot hold a blank"),
    Refused("a sign no lot has", "10LOT#42", "cannot hold “#”"),
    Refused("a letter with an accent", "10LOT42é", "does not hold “é”"),
    # The library reads digits of any script.
    Refused("digits of another script", "01٠٩٥٢١٢٣٤٥٤٣٢١٣", "does not hold “٠”"),
    Refused("a sign that is not seen", f"{P}10A\x00B", "a sign that cannot be seen"),
    Refused("no lot", f"{P}10", "lot number (10) is empty"),
    Refused("no lot, more follows", f"{P}10{G}17271130", "lot number (10) is empty"),
    # The library passes it: its pattern allows none to eight digits.
    Refused("a count without digits", f"{P}10A{G}30{G}", "entry (30) is empty"),
    Refused("two lots", f"{P}10A{G}10B", "there twice, as “A” and as “B”"),
    Refused("two expiries", f"{P}172706301728063010A", "there twice, as “270630” and as “280630”"),
    Refused("two products", f"{P}0119521234543210", "there twice"),
    Refused("two expiries, one with time", f"{P}1727113070032711291430", "two dates of expiry"),
    Refused("made to order", f"]d203{GTIN}10A", "made to order"),
    Refused("label of a carton", f"02{GTIN}3712", "the label of a carton"),
    Refused("label of a shipment", "00095212345432131236", "the label of a shipment"),
    Refused("entries, none of a pack", "3710", "names no product, lot or expiry"),
    Refused("text after a fixed entry", f"{P}XYZ", "“XYZ” after the product number (01)"),
    Refused("the printed form, no lot", f"(01){GTIN}(17)271130(10)", "lot number (10) is empty"),
    Refused("the printed form, no expiry", f"(01){GTIN}(10)LOT42(17)", "expiry (17) is empty"),
    Refused("brackets in the lot", f"(01){GTIN}(10)A(1)B", "Brackets stand around"),
    Refused("a bracket too many", f"(01){GTIN}(10)A)", "Brackets stand around"),
    Refused("a blank in a printed lot", f"(01){GTIN}(10)LOT 42", "lot number (10) cannot be"),
    Refused("an entry that is none", "(24)0REF", "entry (24) cannot be “0REF”"),
    Refused("separator typed in braces", f"{P}10ABC{{GS}}17271130", "came as the letters “{GS}”"),
    # Both would pass as part of the lot.
    Refused("separator typed in angles", f"{P}10A<GS>17271130", "came as the letters “<GS>”"),
    Refused("separator typed in brackets", f"{P}10A(gs)17271130", "came as the letters “(gs)”"),
    Refused("separator written as in a program", f"{P}10A\\x1d17271130", "“\\x1d”"),
    Refused("separator as a key", f"{P}10A^]17271130", "came as the letters “^]”"),
    Refused("separator as a picture", f"{P}10A␝17271130", "came as the letters “␝”"),
    Refused("HIBC, the standard's own example", "+A123BJC5D6E71G", "This is an HIBC code"),
    Refused("HIBC in a plain Code 128", "]C0+A999FILLER11O", "This is an HIBC code"),
    Refused("HIBC, misread", "+A123BJC5D6E71H", "does not fit the others"),
    Refused("HIBC, lower case", "+a123bjc5d6e71g", "does not fit the others"),
    Refused("HIBC, a plus alone", "+", "does not fit the others"),
    Refused("a web address without a product", "https://example.org/about", "names no product"),
    Refused("a web address that is none", "https://[", "names no product"),
    # The library drops the first and keeps the last.
    Refused("an empty expiry in an address", f"https://e.org/01/{GTIN}?17=", "(17) is empty"),
    Refused("two expiries in an address", f"https://e.org/01/{GTIN}?17=271130&17=281130", "twice"),
    Refused("two lots in an address", f"https://e.org/01/{GTIN}/10/A?10=B", "twice"),
    Refused("EAN-13 with 12 digits", "]E0952123454321", "of this kind has 13 digits"),
    Refused("EAN-13 with letters", "]E0LOT42", "of this kind has 13 digits"),
    Refused("short form of a longer number", "04252614", "short form of a longer number"),
    # A product number with the right check digit, and a lot.
    Refused("digits that can be two things", "1012345678904", "or lot number (10) “12345678904”"),
]  # fmt: skip
