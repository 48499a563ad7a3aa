"""Words about the patient's photographs; views and states are those of `planning`."""

from planning.vocabulary import Term


class PictureSource(Term):
    """How a photograph came."""

    CAMERA = "camera", "Taken here"
    UPLOAD = "upload", "Uploaded"


class Use(Term):
    """What the patient agreed that a photograph is used for."""

    RECORD = "record", "Record"
    TEACHING = "teaching", "Teaching"
    PUBLICATION = "publication", "Publication"


# Beyond the record: what the practice owner looks after.
OUTSIDE = (Use.TEACHING, Use.PUBLICATION)
