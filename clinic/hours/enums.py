from planning.vocabulary import Term


class AbsenceKind(Term):
    LEAVE = "leave", "Leave"
    SICK = "sick", "Sick"
    TRAINING = "training", "Training"
    BREAK = "break", "Break"
    OUT_OF_ORDER = "out_of_order", "Out of order"
    OTHER = "other", "Other"


OF_ROOMS = frozenset({AbsenceKind.OUT_OF_ORDER, AbsenceKind.OTHER})
OF_PEOPLE = frozenset(AbsenceKind) - {AbsenceKind.OUT_OF_ORDER}
