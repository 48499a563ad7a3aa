"""Files of a former record."""

import pytest

from tests.factories import make_import

PATIENTS = """Number,Name,First name,Date of birth,Sex,Phone,E-mail,Address,Postcode,Town,Allergies
A1,Example,Zoë,17/05/1971,f,020 7946 0101,zoe@example.org,1 Road,LK1 1AA,Larkstone,Latex
A2,Sample,Bob,1972-06-18,m,020 7946 0102,,,,,none
A3,Pattern,Cleo,19.07.1973,,4.47912E+11,,,,,
A4,Blank,Dan,,,,,,,,
A5,Example,Zoe,17/05/1971,f,,,,,,
"""
TREATMENTS = """Number,Date,Product,Batch,Area,Amount,Provider,Notes
A1,2024-03-05,Filler of before,LF-7,lips,0.5 mL,Dr Old,went well
A1,2024-03-05,Filler of before,LF-7,lips,0.5 mL,Dr Old,went well
A2,05/06/2024,Toxin of before,,forehead,20 units,,
A9,05/06/2024,Toxin of before,,,,,
"""


@pytest.fixture
def patients(owner):
    """Taken in: A1 and A2; refused: A3 and A4; here already: A5."""
    return make_import(owner, PATIENTS)
