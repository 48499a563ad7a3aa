from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    name = "records"
    verbose_name = "Records"

    def ready(self) -> None:
        from clinic.background import ticks
        from clinic.bookings import registry
        from clinic.database import triggers
        from records.appointments import hooks, settling
        from records.appointments.triggers import TRIGGERS as APPOINTMENTS
        from records.assessments.triggers import TRIGGERS as ASSESSMENTS
        from records.calendars.triggers import TRIGGERS as CALENDARS
        from records.charting.triggers import TRIGGERS as CHARTING
        from records.elsewhere.triggers import TRIGGERS as ELSEWHERE
        from records.follow_up.triggers import TRIGGERS as FOLLOW_UP
        from records.mailings import occasions
        from records.mailings.triggers import TRIGGERS as MAILINGS
        from records.notes.triggers import TRIGGERS as NOTES
        from records.patients.triggers import TRIGGERS as PATIENTS
        from records.plans.triggers import TRIGGERS as PLANS
        from records.recalls.services.mailings import RECALL
        from records.recalls.triggers import TRIGGERS as RECALLS
        from records.reminders import ticking
        from records.reminders.routes.loading import text_message_route
        from records.reminders.services.offering import tell_of_offer
        from records.reminders.triggers import TRIGGERS as REMINDERS
        from records.reviews.services.settling import open_reviews
        from records.reviews.triggers import TRIGGERS as REVIEWS
        from records.sessions.triggers import TRIGGERS as SESSIONS
        from records.to_move.queries import booked_in
        from records.waiting_list import listeners, notices
        from records.waiting_list.services import consequences
        from records.waiting_list.ticking import tick as expire_ended
        from records.waiting_list.triggers import TRIGGERS as WAITING_LIST

        triggers.register(
            *APPOINTMENTS,
            *ASSESSMENTS,
            *CALENDARS,
            *CHARTING,
            *ELSEWHERE,
            *FOLLOW_UP,
            *MAILINGS,
            *NOTES,
            *PATIENTS,
            *PLANS,
            *RECALLS,
            *REMINDERS,
            *REVIEWS,
            *SESSIONS,
            *WAITING_LIST,
        )
        occasions.register(RECALL)
        registry.register(booked_in)
        listeners.register(tell_of_offer)
        ticks.register("reminders", ticking.tick)
        ticks.register("waiting list", expire_ended)
        text_message_route()  # a wrong CLINIC_SMS stops the start
        hooks.register(booked=consequences.was_booked, freed=consequences.let_go, told=notices.tell)
        settling.register(open_reviews)
        # The last app to be migrated puts the triggers of all back.
        post_migrate.connect(triggers.install_after_migrate, sender=self)
