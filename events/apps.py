from django.apps import AppConfig


class EventsConfig(AppConfig):
    """See this package's models."""

    name = "events"
    documents = ("events.printing.prints.DOCUMENTS",)
    start_sections = ("events.start.SECTIONS",)
    trail_words = ("events.trail.WORDS",)
    archive_kinds = ("events.queries.archive_kinds.KINDS",)
    record_exports = ("events.presenters.record_exports.RECORD_EXPORTS",)
    class_limits = ("events.queries.class_limits.PROVIDERS",)
    change_judges = ("events.precheck.queries.change_judge.PROVIDERS",)
    car_events = ("events.presenters.car_events.PROVIDERS",)
    run_entries = ("events.queries.entry_runs.PROVIDERS",)
    entries_of_cars = ("events.actions.entry_runs.ENTRIES_OF_CARS",)
    car_sections = (
        "events.presenters.last_time.CAR_SECTIONS",
        "events.presenters.ballast_forecast.CAR_SECTIONS",
    )
    driver_sections = ("events.presenters.ballast_forecast.DRIVER_SECTIONS",)
    next_steps = ("events.presenters.next_steps.NEXT_STEPS",)
