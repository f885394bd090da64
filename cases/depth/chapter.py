"""The chapter on the depth section."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Chapter, Solved
from cases.depth.result import DepthResult
from cases.gas.solve import gas_of

TITLE = "The barrel from the side"


def depth_chapters(result: Solved) -> tuple[Chapter, ...]:
    """The barrel from the side, where it was looked at."""
    found = result.found.get("depth")
    if isinstance(found, Refusal):
        return (
            Chapter(
                key="depth", title=TITLE, template="base/refused.html.j2",
                contents={"what": "There is no depth section", "refusal": found},
            ),
        )  # fmt: skip
    if found is None:
        return ()
    contents = {"depth": found, "gas": gas_of(result)}
    return (
        Chapter(
            key="depth", title=TITLE, template="depth/chapter.html.j2",
            contents=contents, finding=_pays(found),
        ),
    )  # fmt: skip


def _pays(found: DepthResult) -> str:
    """How deep an insert pays; empty where none was tried at other depths."""
    solid = [f"{one.name} {one.solid.words}" for one in found.designs if one.solid]
    if solid:
        return f"Whether a deeper insert pays, by the solid: {'; '.join(solid)}."
    swept = [(one.name, one.sweep.enough_hoop_mm) for one in found.designs if one.sweep]
    told = [f"{name} {'deeper still pays' if at is None else f'{at:.0f} mm'}" for name, at in swept]
    return f"Deep enough for stress: {', '.join(told)}." if told else ""
