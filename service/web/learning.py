"""What the log has taught, as routes ask for it; what is behind is learned after the answer has left."""

from typing import Annotated

from fastapi import BackgroundTasks, Depends, Request

from service.records.db import Database
from service.studio.rates import Learning
from service.web.deps import Reads, the_database


def learning_of(request: Request) -> Learning:
    """What this service has learned so far."""
    learning: Learning = request.app.state.learning
    return learning


def learning_here(
    request: Request, database: Annotated[Database, Depends(the_database)], db: Reads, background: BackgroundTasks
) -> Learning:
    """What this service has learned; when the log has grown since, it learns again behind this answer."""
    learning = learning_of(request)
    if learning.is_due(db):
        background.add_task(learning.catch_up, database)
    return learning


LearningHere = Annotated[Learning, Depends(learning_here, scope="function")]
