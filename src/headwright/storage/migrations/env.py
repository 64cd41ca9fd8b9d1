"""Run the migrations in the connection and the transaction of the program that opened the book.

Every table with triggers that a migration rebuilds (``op.batch_alter_table``) loses them: make
them again as they are to be at that version.
"""

from alembic import context

if hasattr(context, "config"):  # only there while Alembic runs; a mere import does nothing
    context.configure(
        connection=context.config.attributes["connection"],
        render_as_batch=True,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()
