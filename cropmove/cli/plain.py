"""Help in plain words: what is named is named as a person would, without a program's types."""

from __future__ import annotations

from typing import Any

from typer.core import TyperCommand

__all__ = ["PlainCommand"]


class PlainCommand(TyperCommand):
    """A command that tells of its arguments by name and sense alone."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What stands behind the command's name in its usage line."""
        return ["[OPTIONS]", *map(_in_usage, self._arguments)]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments, then options."""
        arguments = [(_name(argument), argument.help or "") for argument in self._arguments]
        if arguments:
            with formatter.section("Arguments"):
                formatter.write_dl(arguments)
        records = [one.get_help_record(ctx) for one in self.get_params(ctx) if _is_option(one)]
        with formatter.section("Options"):
            formatter.write_dl([record for record in records if record])

    @property
    def _arguments(self) -> list[Any]:
        return [one for one in self.params if not _is_option(one)]


def _is_option(parameter: Any) -> bool:
    return bool(parameter.param_type_name == "option")


def _name(argument: Any) -> str:
    return str(argument.metavar or argument.name.upper())


def _in_usage(argument: Any) -> str:
    name = _name(argument) + ("..." if argument.nargs != 1 else "")
    return name if argument.required else f"[{name}]"
