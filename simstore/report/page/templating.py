"""The templates of everything that is laid out as HTML; whatever is put into one is escaped."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined

from simstore.prose.phrases import begun


def laying_out() -> Environment:
    """Give the templates; a name that a template does not know is an error."""
    templates = Environment(
        loader=PackageLoader("simstore.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters["begun"] = begun
    return templates
