class ReviewClosed(Exception):
    """The review is done or excused and no longer changes."""
