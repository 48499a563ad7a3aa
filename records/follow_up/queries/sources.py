"""
Where the cases of the follow-up list come from.

Whoever adds a source gives it a function that takes `Asked` and yields `Found`, each case once,
and a cell for its kind in templates/follow_up/_about.html.
"""

from records.follow_up.queries.events import open_events
from records.follow_up.queries.found import Source
from records.follow_up.queries.occlusions import running_logs
from records.follow_up.queries.recalls import untold_people
from records.follow_up.queries.returned import came_back
from records.follow_up.queries.reviews import open_reviews
from records.follow_up.queries.worries import waiting_worries

SOURCES: tuple[Source, ...] = (
    waiting_worries, running_logs, open_events, untold_people, came_back, open_reviews,
)  # fmt: skip
