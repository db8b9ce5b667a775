"""What was mistyped on the command line, in one sentence that says what would be right."""

from __future__ import annotations

import click


def sentence_of(fault: click.ClickException) -> str:
    """
    The sentence for a mistake that was noticed before a command began.

    Parameters
    ----------
    fault : click.ClickException
    """
    context = fault.ctx if isinstance(fault, click.UsageError) else None
    command = "weftglass" if context is None else context.command_path
    return f"{command}: {_what_is_wrong(fault)}. Nothing was changed; `{command} --help` says what it takes."


def _what_is_wrong(fault: click.ClickException) -> str:
    message = fault.message.rstrip(".")
    if isinstance(fault, click.NoSuchOption):
        near = f"; did you mean {' or '.join(fault.possibilities)}" if fault.possibilities else ""
        return f"there is no option {fault.option_name}{near}"
    if isinstance(fault, click.BadParameter) and fault.param is not None:
        name = _name_of(fault.param)
        if isinstance(fault, click.MissingParameter):
            return f"{name} is left out; it should be given"
        return f"{name} {message}" if message.startswith("is ") else f"{name}: {message}"
    return message[:1].lower() + message[1:]


def _name_of(parameter: click.Parameter) -> str:
    """An option as it is typed, an argument as the help names it."""
    return parameter.opts[0] if isinstance(parameter, click.Option) else parameter.human_readable_name.rstrip(".")
