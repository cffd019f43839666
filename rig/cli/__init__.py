"""The command `tubrig`. Every error is one line that says what to do next.

Exit code 2: something the user can mend. 1: a fault of ours. 130: stopped by the keyboard.
"""

import os
import sys
from importlib import import_module

import click

from rig import __version__
from rig.errors import RigError

COMMANDS = (
    "demo",
    "serve",
    "calibrate",
    "check",
    "plan",
    "predict",
    "replay",
    "simulate",
)  # each a module of its name


class Commands(click.Group):
    """Imports a command only when it is asked for: a prediction needs no web server."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order of `COMMANDS`."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of that name; None if there is none."""
        if name not in COMMANDS:
            return None
        command: click.Command = getattr(import_module(f"rig.cli.{name}"), name)
        return command


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="tubrig")
def tubrig() -> None:
    """A test rig for the classroom float-load challenge: it weighs, watches and remembers."""


def main() -> None:
    """Run the command; turn every error into one line and an exit code."""
    try:
        code = tubrig.main(prog_name="tubrig", standalone_mode=False)
    except RigError as err:
        sys.exit(_say(str(err), err.exit_code))
    except click.UsageError as err:
        path = err.ctx.command_path if err.ctx else "tubrig"
        sys.exit(_say(f"{_sentence(err.format_message())} See `{path} --help`.", 2))
    except click.ClickException as err:
        sys.exit(_say(f"{_sentence(err.format_message())} Mend that and try again.", 2))
    except (click.Abort, KeyboardInterrupt):
        sys.exit(130)
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as err:
        if os.environ.get("TUBRIG_DEBUG"):
            raise
        what = f"A fault of ours: {type(err).__name__}: {err}."
        sys.exit(_say(f"{what} Run it again with TUBRIG_DEBUG=1 and report what it prints.", 1))
    sys.exit(code if isinstance(code, int) else 0)


def _say(line: str, code: int) -> int:
    click.echo(" ".join(line.split()), err=True)
    return code


def _sentence(text: str) -> str:
    return text if text.endswith(".") else f"{text}."
