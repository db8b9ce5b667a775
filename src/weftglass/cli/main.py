"""The command group, and the one place where errors become exit statuses."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from weftglass.cli.behind import behind
from weftglass.cli.catalogue import catalogue, publish
from weftglass.cli.check import check
from weftglass.cli.date import date
from weftglass.cli.demo import demo
from weftglass.cli.forms import forms
from weftglass.cli.gauge import gauge
from weftglass.cli.holdings import holdings, rarity, wants, whereabouts
from weftglass.cli.inside import inside
from weftglass.cli.letters import letters
from weftglass.cli.load_in import load_in
from weftglass.cli.makers import makers
from weftglass.cli.mistakes import sentence_of
from weftglass.cli.offers import offer, offers, pocket, values
from weftglass.cli.outline import outline
from weftglass.cli.rollout import rollout
from weftglass.cli.serve import serve
from weftglass.cli.tone import tone
from weftglass.cli.write_out import write_out
from weftglass.errors import InputError, WeftglassError
from weftglass.one_thread import one_thread

HELP = """
Find out which glass vessel is inside a woven covering, and why.

Start with `weftglass demo`, or trace a photograph with `weftglass outline`, weigh evidence with `weftglass inside`, and
keep a collection in the browser with `weftglass serve`.

Lengths are in mm, mass in g, volume in ml, angles in degrees. With --json one JSON document goes to standard output and
nothing else; progress and warnings go to standard error. Exit status: 0 done, 2 the input is at fault and nothing was
written, 1 anything else.
"""


@click.group(
    help=HELP, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110}, no_args_is_help=True
)
@click.version_option(package_name="weftglass")
def group() -> None:
    """Root of all commands."""


for command in (
    outline,
    gauge,
    rollout,
    inside,
    date,
    makers,
    forms,
    letters,
    behind,
    tone,
    holdings,
    rarity,
    whereabouts,
    wants,
    offer,
    offers,
    values,
    pocket,
    catalogue,
    publish,
    serve,
    demo,
    check,
    write_out,
    load_in,
):
    group.add_command(command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit status."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; the exit status as a number."""
    try:
        with one_thread():
            asked = None if arguments is None else list(arguments)
            result = group.main(args=asked, prog_name="weftglass", standalone_mode=False)
        sys.stdout.flush()
        return int(result) if isinstance(result, int) else 0
    except InputError as fault:
        return _told(str(fault), 2)
    except WeftglassError as fault:
        return _told(str(fault), 1)
    except click.exceptions.NoArgsIsHelpError as fault:
        click.echo(fault.format_message())
        return 2
    except click.ClickException as fault:
        return _told(sentence_of(fault), 2)
    except click.exceptions.Abort:
        return _told("Stopped.", 1)
    except BrokenPipeError:
        sys.stderr.close()
        return 1
    except OSError as fault:
        return _told(f"{fault.filename or 'a file'}: {fault.strerror or fault}. Nothing more was written.", 1)


def _told(sentence: str, status: int) -> int:
    click.echo(sentence, err=True)
    return status
