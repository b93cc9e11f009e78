"""Where Alembic is handed the connection the notebook is being opened on."""

from alembic import context

from api.notebook.schema import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
