"""Why a plan refuses; each message is a sentence for the page."""


class PlanError(Exception):
    """The plan cannot be written so."""


class PlanClosed(PlanError):
    """It ended already."""


class StageTreated(PlanError):
    """The stage belongs to a session that is signed, so what was planned for it stays."""
