"""The published problems in the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from cases.check.published import Checked


def print_checked(checked: Sequence[Checked]) -> None:
    """Print ours beside each published value, and whether all passed."""
    click.echo(f"{'':36}{'published':>10}{'ours':>10}{'differ':>10}{'allowed':>8}")
    for number, one in enumerate(checked, start=1):
        click.secho(f"{number}. {one.problem.name}", bold=True)
        source = f"Source: {one.problem.source}"
        click.echo(textwrap.fill(source, 79, initial_indent="  ", subsequent_indent="  "))
        for outcome in one.outcomes:
            target = outcome.target
            click.echo(
                f"  {target.quantity:34}{target.published:10.6g}{outcome.ours:10.6g}"
                f"{100 * outcome.difference:+8.3f} %{100 * target.allowed:6g} % ",
                nl=False,
            )
            click.secho("pass" if outcome.passed else "FAIL", fg=None if outcome.passed else "red")
    if all(one.passed for one in checked):
        values = sum(len(one.outcomes) for one in checked)
        click.echo(f"All {len(checked)} problems passed, {values} values.")
