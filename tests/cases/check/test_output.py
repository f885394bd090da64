"""Numbers of the page of published problems against the outcomes that they are of."""

from __future__ import annotations

from readback import Page, Quantity, fault_of_sentence, faults_of_table, told

from cases.check.published import Checked, Outcome, Problem, Target, write_check_page


def outcome(name, published, ours, allowed):
    return Outcome(Target(name, published, allowed, read=float), ours)


CHECKED = [
    Checked(
        Problem("ring", "A ring.", "a book", solve=print, targets=(), fineness=0.25),
        (outcome("growth [um]", 12.5, 12.53, 0.01), outcome("hoop [MPa]", 80.0, 79.9, 0.002)),
        "none",
    ),
    Checked(
        Problem("plate", "A plate.", "a paper", solve=print, targets=()),
        (outcome("stress [MPa]", 3.141592, 3.3, 0.03),),
        "none",
    ),
]  # fmt: skip


def test_every_number_is_that_of_its_outcome(tmp_path):
    write_check_page(CHECKED, tmp_path / "check.html")
    page = Page((tmp_path / "check.html").read_text(encoding="utf-8"))
    (table,) = page.tables
    heads = [row for row in table.rows if len(set(row)) == 1]
    table.rows = [row for row in table.rows if len(set(row)) > 1]
    wanted = [
        {
            "problem and value": one.target.quantity,
            "published": Quantity(one.target.published, digits=6),
            "ours": Quantity(one.ours, digits=6),
            "difference": Quantity(one.ours / one.target.published - 1),
            "allowed": Quantity(one.target.allowed),
            "": "pass" if one.target.quantity != "stress [MPa]" else "FAIL",
        }
        for checked in CHECKED
        for one in checked.outcomes
    ]
    assert not faults_of_table(table, wanted)
    assert not fault_of_sentence(heads[0][0], told("Elements #/# of the default size.",
                                                  Quantity(1), Quantity(4)))  # fmt: skip
    assert "default size" not in heads[1][0]
    prose = " ".join(page.prose[""])
    failed = told("# of # problems differ by more", Quantity(1), Quantity(2))
    assert not fault_of_sentence(prose, failed)
