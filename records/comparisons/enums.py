"""Words about comparing photographs."""

from planning.vocabulary import Term


class Fit(Term):
    """How the later picture is laid over the earlier one."""

    SHAPE = "shape", "Turned, scaled and shifted"
    STRETCHED = "stretched", "Stretched to all three marks"
