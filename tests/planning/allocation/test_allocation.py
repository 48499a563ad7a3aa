"""
The units of a plan, against brute force: every number of every pack, every way to pour.

No published table of such allocations is known to us; exhaustive search over small cases is the
outside measure here.
"""

import random
from collections import Counter, defaultdict
from datetime import date
from itertools import product

import pytest

from planning.allocation.lots import share_out
from planning.allocation.plan import OpenUnit, PlannedAmount, allocate
from planning.allocation.shelf import Pack, Preference

DAY = date(2027, 6, 30)
CASES = 3_000


def pack(key: str, content: int, units: int = 9, price: int = 100, **fields) -> Pack:
    values = {"product": "filler", "lot": "L1", "expires_on": DAY, **fields}
    return Pack(key=key, content=content, units=units, price=price, **values)


def line(key, amount: int, region: str = "chin", plane: str = "deep", **fields) -> PlannedAmount:
    return PlannedAmount(
        key=key, amount=amount, region=region, plane=plane, **{"product": "filler", **fields}
    )


def case(seed: int) -> tuple[list[PlannedAmount], list[Pack], list[OpenUnit], bool]:
    rng = random.Random(seed)  # noqa: S311 (the same cases each time)
    lines = [
        line(n, 50 * rng.randint(1, 24), rng.choice("abc"), rng.choice(["deep", "shallow"]))
        for n in range(rng.randint(1, 4))
    ]
    packs = [
        pack(f"P{n}", rng.choice([500, 800, 1000, 2000]), rng.randint(0, 3), rng.randint(1, 4) * 50,
             lot=rng.choice("XYZ"), expires_on=date(2027, rng.randint(1, 12), 1))
        for n in range(rng.randint(1, 4))
    ]  # fmt: skip
    opened = [
        OpenUnit(f"O{n}", "filler", rng.choice("XYZ"), 50 * rng.randint(1, 18))
        for n in range(rng.randint(0, 2))
    ]
    return lines, packs, opened, rng.random() < 0.5


def best_by_brute_force(lines, packs, opened, apart: bool, preference: Preference):
    """The least (waste, cost, lots, units, days), in the order of the preference; None if short."""
    needs = Counter()
    for one in lines:
        needs[one.plane if apart else ""] += one.amount
    planes = list(needs)
    deals = [
        [deal for deal in product(range(p.units + 1), repeat=len(planes)) if sum(deal) <= p.units]
        for p in packs
    ]
    best = None
    for owners in product(range(len(planes)), repeat=len(opened)):
        for counts in product(*deals):
            rank = _rank(needs, planes, opened, owners, packs, counts, preference)
            if rank is not None and (best is None or rank < best):
                best = rank
    return best


def _rank(needs, planes, opened, owners, packs, counts, preference: Preference):
    """What `shelf.choose` compares, added up plainly; None if a plane gets too little."""
    waste = cost = lots = units = days = 0
    for number, plane in enumerate(planes):
        content = sum(
            u.remaining for u, owner in zip(opened, owners, strict=True) if owner == number
        )
        used = [(p, deal[number]) for p, deal in zip(packs, counts, strict=True) if deal[number]]
        content += sum(p.content * n for p, n in used)
        if content < needs[plane]:
            return None
        waste += content - needs[plane]
        cost += sum(p.price * n for p, n in used)
        lots += len({p.lot for p, _ in used})
        units += sum(n for _, n in used)
        days += sum(p.expires_on.toordinal() * n for p, n in used)
    first = (waste, cost) if preference is Preference.WASTE else (cost, waste)
    return (*first, lots, units, days)


def rank_of(answer, lines, packs, apart: bool, preference: Preference):
    by_key = {p.key: p for p in packs}
    plane_of = {one.key: one.plane if apart else "" for one in lines}
    lots = defaultdict(set)
    for draw in answer.draws:
        if isinstance(draw.unit, tuple):
            lots[plane_of[draw.line]].add(draw.lot)
    waste = sum(answer.waste.values())
    units = sum(answer.opened.values())
    days = sum(by_key[key].expires_on.toordinal() * n for key, n in answer.opened.items())
    first = (waste, answer.cost) if preference is Preference.WASTE else (answer.cost, waste)
    return (*first, sum(map(len, lots.values())), units, days)


@pytest.mark.parametrize("preference", list(Preference))
def test_nothing_better_is_found_by_trying_everything(preference):
    short = 0
    for seed in range(CASES):
        lines, packs, opened, apart = case(seed)
        answer = allocate(lines, packs, opened, preference=preference, one_plane_a_unit=apart)
        best = best_by_brute_force(lines, packs, opened, apart, preference)
        if best is None:
            assert answer.shortages, seed
            short += 1
        else:
            assert rank_of(answer, lines, packs, apart, preference) == best, seed
    assert 100 < short < CASES / 2


def test_each_line_gets_its_amount_and_no_unit_gives_more_than_it_holds():
    for seed in range(CASES):
        lines, packs, opened, apart = case(seed)
        answer = allocate(lines, packs, opened, one_plane_a_unit=apart)
        if answer.shortages:
            assert not answer.draws
            assert not answer.opened
            continue
        got, drawn, planes = Counter(), Counter(), defaultdict(set)
        plane_of = {one.key: one.plane for one in lines}
        for draw in answer.draws:
            got[draw.line] += draw.amount
            drawn[draw.unit] += draw.amount
            planes[draw.unit].add(plane_of[draw.line])
        assert got == {one.key: one.amount for one in lines}
        content = {p.key: p.content for p in packs} | {u.key: u.remaining for u in opened}
        for unit, amount in drawn.items():
            assert amount <= content[unit[0] if isinstance(unit, tuple) else unit]
        assert {unit[0] for unit in drawn if isinstance(unit, tuple)} <= answer.opened.keys()
        assert not apart or all(len(names) == 1 for names in planes.values())


def further_lots(shares) -> int:
    """How many lots the regions get beyond one each."""
    by_region = defaultdict(set)
    for region, lot, _ in shares:
        by_region[region].add(lot)
    return sum(len(lots) - 1 for lots in by_region.values())


def fewest_further_lots(needs: dict, lots: dict) -> int:
    """By trying every set of lots for every region; whether it can be poured so is a flow."""
    names = list(lots)
    sets = [chosen for chosen in product([False, True], repeat=len(names)) if any(chosen)]
    best = len(needs) * len(lots)
    for chosen in product(sets, repeat=len(needs)):
        extra = sum(map(sum, chosen)) - len(needs)
        if extra < best and _can_be_poured(list(needs.values()), chosen, list(lots.values())):
            best = extra
    return best


def _can_be_poured(needs, chosen, rooms) -> bool:
    """Hall's condition: what some regions need, the lots they may use hold together."""
    for some in product([False, True], repeat=len(needs)):
        need = sum(n for n, one in zip(needs, some, strict=True) if one)
        open_to = [any(c[lot] for c, one in zip(chosen, some, strict=True) if one)
                   for lot in range(len(rooms))]  # fmt: skip
        if need > sum(room for room, one in zip(rooms, open_to, strict=True) if one):
            return False
    return True


def test_regions_get_as_few_lots_as_trying_everything_finds():
    split = 0
    for seed in range(600):
        rng = random.Random(seed)  # noqa: S311 (the same cases each time)
        needs = {f"r{n}": rng.randint(1, 9) for n in range(rng.randint(1, 4))}
        lots = {f"L{n}": rng.randint(1, 9) for n in range(rng.randint(1, 3))}
        lots["L0"] += max(0, sum(needs.values()) - sum(lots.values()))
        shares = share_out(needs, lots)
        fewest = fewest_further_lots(needs, lots)
        assert further_lots(shares) == fewest, seed
        split += fewest > 0
    assert split > 50


def test_worked_by_hand():
    """1.7 mL of packs of 0.5, 0.8 and 1 mL: 1 + 0.8 wastes 0.1, two of 1 mL would waste 0.3."""
    packs = [pack("half", 500, price=90), pack("eight", 800, price=140), pack("one", 1000)]
    answer = allocate([line(1, 1700)], packs)
    assert answer.opened == {"eight": 1, "one": 1}
    assert (answer.waste, answer.cost) == ({"filler": 100}, 240)
    answer = allocate([line(1, 1700)], packs, preference=Preference.COST)
    assert answer.opened == {"one": 2}
    assert (answer.waste, answer.cost) == ({"filler": 300}, 200)


def test_what_is_open_goes_first_and_what_expires_first_is_opened():
    packs = [
        pack("later", 1000, lot="L2"),
        pack("sooner", 1000, lot="L1", expires_on=date(2027, 1, 31)),
    ]
    answer = allocate([line(1, 1200)], packs, [OpenUnit("open", "filler", "L0", 300)])
    assert answer.opened == {"sooner": 1}
    assert [(draw.unit, draw.amount) for draw in answer.draws] == [
        ("open", 300), (("sooner", 1), 900)
    ]  # fmt: skip


def test_products_never_stand_in_for_each_other():
    answer = allocate([line(1, 100, product="other")], [pack("one", 1000)])
    assert [(s.product, s.missing) for s in answer.shortages] == [("other", 100)]
    assert answer.opened == {}


def test_planes_share_a_unit_only_where_the_clinic_lets_them():
    lines = [line(1, 400), line(2, 500, plane="shallow")]
    assert allocate(lines, [pack("one", 1000)]).opened == {"one": 2}
    assert allocate(lines, [pack("one", 1000)], one_plane_a_unit=False).opened == {"one": 1}


def test_a_plan_far_beyond_any_face_is_answered_all_the_same():
    """Seven planes want almost all of 200 syringes: no time to try each way to deal them out."""
    planes = "abcdefg"
    lines = [line(n, 20_500, plane=plane) for n, plane in enumerate(planes)]
    packs = [
        pack(f"P{n}", content, units=50, lot=f"L{n}")
        for n, content in enumerate([300, 700, 900, 1100])
    ]
    found = allocate(lines, packs)
    assert not found.shortages
    assert all(found.opened.get(one.key, 0) <= one.units for one in packs)
    given = Counter()
    for draw in found.draws:
        given[draw.line] += draw.amount
    assert given == {one.key: one.amount for one in lines}
    of_plane = defaultdict(set)
    for draw in found.draws:
        of_plane[draw.unit].add(planes[draw.line])
    assert all(len(used) == 1 for used in of_plane.values())
