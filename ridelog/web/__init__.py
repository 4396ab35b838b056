"""The page: `create_app` makes it, `ridelog.web.serve.serve` runs it. Dash is used nowhere else."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ridelog.web.app import create_app

__all__ = ["create_app"]


def __getattr__(name: str) -> Any:
    if name == "create_app":
        from ridelog.web.app import create_app

        return create_app
    raise AttributeError(f"module 'ridelog.web' has no attribute {name!r}")
