"""`tubrig plan`: what to settle before the class comes."""

from importlib import import_module
from pkgutil import iter_modules

import click

from rig.cli import plans


class Plans(click.Group):
    """Every file in `rig/cli/plans` holds the command of its name; imported when asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """By name."""
        return sorted(module.name for module in iter_modules(plans.__path__))

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The plan of that name; None if there is none."""
        if name not in self.list_commands(ctx):
            return None
        command: click.Command = getattr(import_module(f"{plans.__name__}.{name}"), name)
        return command


@click.group(cls=Plans, no_args_is_help=False)
def plan() -> None:
    """Settle before the class comes: which goal, what pace, how many weights."""
