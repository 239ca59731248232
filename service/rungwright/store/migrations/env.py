"""Run by alembic, on the connection that `rungwright.store.upgrade` gives it."""

from alembic import context

from rungwright.store.tables import Base
from rungwright.store.types import Held, Moment


def plain(kind, item, _):
    """A migration stands for ever: it names columns of the database, not types of this program."""
    if kind == "type" and isinstance(item, Held | Moment):
        return "sa.Text()" if isinstance(item, Held) else "sa.DateTime(timezone=True)"
    return False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
    render_item=plain,
)
with context.begin_transaction():
    context.run_migrations()
