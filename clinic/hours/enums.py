from planning.vocabulary import Term


class AbsenceKind(Term):
    LEAVE = "leave", "Leave"
    SICK = "sick", "Sick"
    TRAINING = "training", "Training"
    BREAK = "break", "Break"
    OUT_OF_ORDER = "out_of_order", "Out of order"
    OTHER = "other", "Other"
