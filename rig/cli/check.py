"""`tubrig check`: is everything right, before the class comes?"""

from importlib import import_module
from pkgutil import iter_modules

import click

from rig.cli import checks


class Checks(click.Group):
    """Every file in `rig/cli/checks` holds the command of its name; imported when asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """By name."""
        return sorted(module.name for module in iter_modules(checks.__path__))

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The check of that name; None if there is none."""
        if name not in self.list_commands(ctx):
            return None
        command: click.Command = getattr(import_module(f"{checks.__name__}.{name}"), name)
        return command


@click.group(cls=Checks, no_args_is_help=False)
def check() -> None:
    """Look the rig over before class: what is right, and what to mend."""
