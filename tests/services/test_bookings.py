"""Taking, changing and cancelling jobs: what is accepted, and the one sentence for what is not."""

from dataclasses import fields, replace
from datetime import UTC, date, datetime, time, timedelta
from types import MappingProxyType, SimpleNamespace

import pytest
from booked import NOW

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Customer,
    Ground,
    Job,
    JobState,
    Material,
    Panel,
    Part,
    Power,
    Site,
    Surface,
    Surroundings,
)
from sprayadvisor.errors import BookingError, InputError, RangeError, StoreError
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports import BookingStore, Event, JobEvent, JobForm

FORM = JobForm(
    process="wing",
    day="2027-05-04",
    arrive="09:00-10:30",
    site="Mill Lane",
    latitude="48.1",
    longitude="11.5",
    zone="Europe/Berlin",
    panels=("bonnet:red",),
)
FULL = replace(
    FORM,
    ref="W-12",
    elevation_m="519,5",
    surroundings="Open",
    ground="gravel",
    cover="open sky",
    power="generator",
    downwind=("N=neighbour's cars", "south-west = pond", " "),
    shade_before="8:15",
    shade_after="17",
    kerb=True,
    panels=("left wing:dark-grey:plastic", "ROOF:white", "bonnet:red:steel:primer"),
    heading="north-east",
    car_there_from="08.30",
    back_by="18:00",
    driven_until="8:50",
    washed_until="7.45",
    may_move=False,
    repair_area_m2="0.35",
    customer=" A. Sample ",
    phone="none",
    email="a@sample.invalid",
    note="rings\n twice ",
)
CATALOGUE = SimpleNamespace(processes={"wing": None, "door-scuff": None})


class MemoryStore:
    """A store in memory with the contract of the real one."""

    def __init__(self):
        self.jobs, self.places, self.events, self.numbers = {}, {}, [], None

    def add(self, job, at, *, by=""):
        if job.ref in self.jobs:
            raise BookingError(f"There is already a job {job.ref}; give another reference.")
        self._keep(job, JobEvent(at, Event.ADDED, by, ""))

    def add_all(self, jobs, at, *, by=""):
        for job in jobs:
            self.add(job, at, by=by)

    def get(self, ref):
        return self.jobs.get(ref)

    def between(self, first_day, last_day, states=(JobState.BOOKED,)):
        found = [j for j in self.jobs.values() if first_day <= j.day <= last_day]
        return tuple(
            sorted((j for j in found if j.state in states), key=lambda j: (j.day, j.arrive_from))
        )

    def replace(self, job, at, event, note="", *, by="", was=None):
        assert self.jobs[job.ref] == was
        self._keep(job, JobEvent(at, event, by, note))

    def next_ref(self):
        return next(self.numbers) if self.numbers else f"J{len(self.jobs) + 1}"

    def sites(self):
        return tuple(self.places.values())

    def history(self, ref):
        return tuple(event for of, event in self.events if of == ref)

    def _keep(self, job, event):
        self.jobs[job.ref], self.places[job.site.name] = job, job.site
        self.jobs = {
            ref: replace(j, site=job.site) if j.site.name == job.site.name else j
            for ref, j in self.jobs.items()
        }
        self.events.append((job.ref, event))


@pytest.fixture
def store():
    """Return an empty store."""
    store: BookingStore = MemoryStore()
    return store


@pytest.fixture
def bookings(store):
    """Return bookings at a fixed moment: 3 May 2027, 10:30 in Berlin."""
    return Bookings(store, CATALOGUE, lambda: NOW)


def form(**changes):
    """Return a good form with changes."""
    return replace(FORM, **changes)


def test_form_and_job_say_the_same(bookings):
    """Every field of a form reaches the job."""
    assert None not in [getattr(FULL, field.name) for field in fields(JobForm)]
    job = bookings.add(FULL, by="page")
    assert job == Job(
        ref="W-12",
        site=Site(
            "Mill Lane",
            48.1,
            11.5,
            "Europe/Berlin",
            519.5,
            Surroundings.OPEN,
            Ground.GRAVEL,
            Cover.OPEN_SKY,
            Power.GENERATOR,
            MappingProxyType({"n": "neighbour's cars", "sw": "pond"}),
            time(8, 15),
            time(17),
            kerb=True,
        ),
        panels=(
            Panel(Part.LEFT_WING, Colour.DARK_GREY, Material.PLASTIC),
            Panel(Part.ROOF, Colour.WHITE),
            Panel(Part.BONNET, Colour.RED, surface=Surface.PRIMER),
        ),
        process="wing",
        day=date(2027, 5, 4),
        arrive_from=time(9),
        arrive_to=time(10, 30),
        heading_deg=45.0,
        car_there_from=time(8, 30),
        back_by=time(18),
        driven_until=time(8, 50),
        washed_until=time(7, 45),
        may_move=False,
        repair_area_m2=0.35,
        customer=Customer("A. Sample", "none", "a@sample.invalid", "rings twice"),
    )
    assert bookings.get("W-12") == job
    assert bookings.history("W-12") == (JobEvent(NOW, Event.ADDED, "page", ""),)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"latitude": "200"}, r"latitude is 200 °; it must lie between -90 and 90"),
        ({"longitude": "200"}, r"longitude is 200 °; it must lie between -180 and 180"),
        ({"latitude": "-120.5", "longitude": "48"}, r"beyond a pole.*did you swap them"),
        ({"latitude": "north"}, "latitude is 'north'; give a plain number"),
        ({"latitude": "nan"}, "latitude is 'nan'; give a plain number"),
        ({"latitude": None}, "Site 'Mill Lane' is new; give its latitude too"),
        (
            {"latitude": "", "longitude": None, "zone": ""},
            "is new; give its latitude and longitude and zone too",
        ),
        ({"zone": "Europe/Berln"}, "did you mean Europe/Berlin"),
        ({"zone": "berlin"}, "did you mean Europe/Berlin"),
        ({"zone": "New York"}, "did you mean America/New_York"),
        ({"zone": "qqqqqqqqqq"}, "give one such as Europe/Berlin"),
        ({"elevation_m": "9000"}, "elevation_m is 9000 m; it must lie between"),
        ({"surroundings": "forest"}, "surroundings 'forest' is not known; choose one of dense, op"),
        ({"ground": "gravl"}, "ground 'gravl' is not known; did you mean 'gravel'"),
        ({"cover": "tent"}, "cover 'tent' is not known; choose one of canopy"),
        ({"power": "sockets"}, "power 'sockets' is not known; did you mean 'socket'"),
        ({"downwind": ("n",)}, "downwind is 'n'; give side=what"),
        ({"downwind": ("up=sky",)}, "downwind has the side 'up'; use one of n, ne"),
        ({"shade_before": "25:00"}, "shade_before is '25:00'; give a time of day"),
        ({"shade_after": "noon"}, "shade_after is 'noon'; give a time of day"),
        ({"site": None}, "The job has no site"),
        ({"site": " "}, "The job has no site"),
        ({"site": "a\nb"}, "site holds a line break"),
        ({"process": "wings"}, "process 'wings' is not known; did you mean 'wing'"),
        ({"process": "zzz"}, "process 'zzz' is not known; choose one of door-scuff, wing"),
        ({"process": None, "day": None}, "The job has no process and no day; give that too"),
        ({"arrive": None}, "The job has no arrival; give that too"),
        ({"arrive": "10:30-09:00"}, "arrive ends before it begins: 10:30-09:00"),
        ({"arrive": "9-10-11"}, "arrive is '9-10-11'; give a window"),
        ({"arrive": "early"}, "arrive is 'early'; give a time of day"),
        ({"day": "4/5/2027"}, "day is '4/5/2027'; give year-month-day"),
        ({"day": "2027-02-30"}, "day is '2027-02-30'; give year-month-day"),
        ({"day": "2027-05-02"}, "day is 2027-05-02, which is over; it is 2027-05-03 in Europe"),
        ({"panels": ()}, "The job has no panel"),
        ({"panels": None}, "The job has no panels"),
        ({"panels": ("bonnet:red:steel:rust",)}, "surface 'rust' is not known; choose one of bare"),
        ({"panels": ("bonnet",)}, "panel is 'bonnet'; give part:colour"),
        ({"panels": ("bonet:red",)}, "part 'bonet' is not known; did you mean 'bonnet'"),
        ({"panels": ("bonnet:rad",)}, "colour 'rad' is not known; did you mean 'red'"),
        ({"panels": ("bonnet:red:stell",)}, "material 'stell' is not known; did you mean 'steel'"),
        ({"heading": "up"}, "heading is 'up'; give degrees, or one of n, ne"),
        ({"heading": "1e3"}, "heading is '1e3'; give degrees"),
        ({"heading": "361"}, "heading is '361'; a bearing lies between 0 and 360 degrees"),
        ({"repair_area_m2": "5.1"}, "repair_area_m2 is 5.1 m²; it must lie between 0.01 and 5"),
        (
            {"driven_until": "10:45"},
            "is driven until 10:45, after the arrival window",
        ),
        ({"washed_until": "wet"}, "washed_until is 'wet'; give a time of day"),
        ({"car_there_from": "11:00"}, "there only from 11:00, after the arrival window ends at 10"),
        ({"back_by": "10:30"}, "back by 10:30, but arrival may be as late as 10:30"),
        ({"repair_area_m2": "0"}, "repair_area_m2 is 0 m²; it must lie between 0.01 and 5"),
        ({"ref": "a b"}, "ref is 'a b'; use up to 40 letters"),
        ({"customer": "x" * 201}, "customer has 201 characters; 200 are enough"),
        ({"phone": "1\x1b[2J"}, "phone holds a line break or a control character"),
        ({"email": "nobody"}, "email has no @ inside it"),
        ({"email": "@"}, "email has no @ inside it"),
        ({"note": "x" * 2001}, "note has 2001 characters"),
        ({"note": "\ud800"}, "note holds a line break or a control character"),
    ],
)
def test_bad_input_is_one_sentence_and_stores_nothing(bookings, store, changes, words):
    """Each slip gets its own sentence with the field and the mend."""
    with pytest.raises(InputError, match=words) as caught:
        bookings.add(form(**changes))
    assert "\n" not in str(caught.value)
    assert store.jobs == {}
    assert store.events == []


def test_faults_about_a_customer_do_not_repeat_the_details(bookings):
    """A sentence that may be logged names the field only."""
    with pytest.raises(InputError, match="email") as caught:
        bookings.add(form(email="a.sample"))
    assert "sample" not in str(caught.value)


def test_empty_catalogue_says_so(store):
    """Without any process the sentence does not offer an empty list."""
    bookings = Bookings(store, SimpleNamespace(processes={}), lambda: NOW)
    with pytest.raises(InputError, match="there are none at all"):
        bookings.add(FORM)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("n", 0.0),
        ("NW", 315.0),
        ("South East", 135.0),
        ("south_west", 225.0),
        ("-10", 350.0),
        ("360", 0.0),
        ("10,5", 10.5),
        ("", None),
    ],
)
def test_heading_is_brought_into_the_circle(bookings, text, degrees):
    """Compass words and degrees end between 0 and 360; left out, nothing is made up."""
    assert bookings.add(form(heading=text)).heading_deg == degrees


@pytest.mark.parametrize(
    ("text", "window"),
    [
        ("9:00-10:30", (time(9), time(10, 30))),
        ("09:00 – 10:30", (time(9), time(10, 30))),
        ("9 to 10.30", (time(9), time(10, 30))),
        ("09:00", (time(9), time(9))),
    ],
)
def test_arrival_windows(bookings, text, window):
    """The usual ways to write a window, and a time without one."""
    job = bookings.add(form(arrive=text))
    assert (job.arrive_from, job.arrive_to) == window


@pytest.mark.parametrize(
    ("zone", "word", "day"),
    [
        ("Europe/Berlin", "today", date(2027, 5, 3)),
        ("Europe/Berlin", "Tomorrow", date(2027, 5, 4)),
        ("Pacific/Kiritimati", "today", date(2027, 5, 4)),
        ("Pacific/Honolulu", "tomorrow", date(2027, 5, 4)),
    ],
)
def test_today_is_the_sites_own(store, zone, word, day):
    """``today`` is what the calendar says at the site: 20:30 UTC is already tomorrow far east."""
    evening = datetime(2027, 5, 3, 20, 30, tzinfo=UTC)
    bookings = Bookings(store, CATALOGUE, lambda: evening)
    assert bookings.add(form(zone=zone, day=word)).day == day


def test_jobs_are_numbered_and_a_lost_race_takes_the_next(bookings, store):
    """Without a reference the store numbers; if somebody took that number, the next one is used."""
    assert bookings.add(FORM).ref == "J1"
    store.numbers = iter(["J1", "J1", "J2"])
    assert bookings.add(FORM).ref == "J2"
    store.numbers = iter(["J1"] * 100)
    with pytest.raises(BookingError, match="No number was free"):
        bookings.add(FORM)


def test_taken_reference_is_refused(bookings):
    """A reference given by hand must be new."""
    bookings.add(form(ref="A"))
    with pytest.raises(BookingError, match="already a job A"):
        bookings.add(form(ref="A"))


def test_stored_site_comes_along_by_name(bookings):
    """A stored site needs its name only, and takes what is said anew."""
    first = bookings.add(form(elevation_m="520"))
    bare = {"latitude": None, "longitude": None, "zone": None}
    again = bookings.add(form(**bare, cover="shade"))
    assert again.site == replace(first.site, cover=Cover.SHADE)
    with pytest.raises(InputError, match=r"'Mil Lane' is new; give .* did you mean 'Mill Lane'"):
        bookings.add(form(**bare, site="Mil Lane"))


@pytest.mark.parametrize("changes", [{"latitude": "48.5"}, {"elevation_m": "900"}])
def test_other_place_of_the_same_name_is_refused(bookings, changes):
    """A new job cannot carry off a stored site and every job there with it."""
    first = bookings.add(form(elevation_m="520"))
    with pytest.raises(BookingError, match=r"another site called 'Mill Lane', \d+ km .*name"):
        bookings.add(form(**changes))
    assert bookings.get("J1") == first


def test_swapped_place_is_noticed_by_the_other_sites(bookings):
    """Far from every other site as given, among them the other way round."""
    bookings.add(FORM)
    with pytest.raises(InputError, match="near 'Mill Lane'; did you swap them"):
        bookings.add(form(site="Quarry", latitude="11.6", longitude="48.3"))
    assert bookings.add(form(site="Quarry", latitude="48.3", longitude="11.6")).ref == "J2"


def test_place_near_both_ways_round_is_no_swap(bookings):
    """Where latitude and longitude are alike, the place as given stands."""
    bookings.add(form(latitude="10", longitude="10.5"))
    site = bookings.add(form(site="Quarry", latitude="10.5", longitude="10")).site
    assert (site.latitude, site.longitude) == (10.5, 10.0)


@pytest.mark.parametrize(
    ("latitude", "longitude"), [("41.9", "-87.6"), ("-33.9", "151.2"), ("11.6", "20")]
)
def test_far_place_is_no_swap(bookings, latitude, longitude):
    """A place far away both ways round is a far place, not a slip."""
    bookings.add(FORM)
    site = bookings.add(form(site="Far", latitude=latitude, longitude=longitude)).site
    assert (site.latitude, site.longitude) == (float(latitude), float(longitude))


def test_place_stored_the_wrong_way_round_can_be_corrected(bookings):
    """A site's own wrong place does not speak against the right one."""
    bookings.add(form(latitude="11.5", longitude="48.1"))
    job = bookings.change("J1", JobForm(latitude="48.1", longitude="11.5"))
    assert (job.site.latitude, job.site.longitude) == (48.1, 11.5)


def test_change_touches_only_what_is_said(bookings):
    """All else stays, and the history names the fields without what is in them."""
    before = bookings.add(form(customer="A. Sample", phone="none", back_by="18:00"))
    after = bookings.change(
        "J1", JobForm(phone="secret", arrive="10:00-11:00", ref="J1"), by="page"
    )
    assert after == replace(
        before,
        arrive_from=time(10),
        arrive_to=time(11),
        customer=replace(before.customer, phone="secret"),
    )
    assert bookings.get("J1") == after
    assert bookings.history("J1")[1] == JobEvent(
        NOW, Event.CHANGED, "page", "arrive_from, arrive_to, customer"
    )


def test_another_day_is_a_move_and_is_counted(bookings):
    """Each change of day counts once; a day that is over is refused."""
    bookings.add(FORM)
    bookings.change("J1", JobForm(day="2027-05-06"))
    job = bookings.change("J1", JobForm(day="2027-05-07", may_move=False))
    assert (job.day, job.times_moved, job.may_move) == (date(2027, 5, 7), 2, False)
    assert [entry.event for entry in bookings.history("J1")] == ["added", "moved", "moved"]
    assert bookings.history("J1")[2].note == "2027-05-06 to 2027-05-07"
    with pytest.raises(InputError, match="day is 2027-05-02, which is over"):
        bookings.change("J1", JobForm(day="2027-05-02"))
    assert bookings.get("J1") == job


def test_empty_text_takes_away(bookings):
    """What a job can do without can be taken away; what it needs stays as it is."""
    bookings.add(
        form(
            elevation_m="520",
            shade_before="9",
            shade_after="17",
            car_there_from="8",
            back_by="18",
            driven_until="8",
            washed_until="8",
            downwind=("n=pond",),
            customer="A. Sample",
            email="a@sample.invalid",
        )
    )
    job = bookings.change(
        "J1",
        JobForm(
            elevation_m="",
            shade_before="",
            shade_after="",
            car_there_from="",
            back_by="",
            driven_until="",
            washed_until="",
            downwind=("",),
            customer="",
            email="",
            process="",
            latitude="",
            heading="",
        ),
    )
    assert job == bookings.get("J1")
    assert (job.site.elevation_m, job.site.shade_before, job.site.shade_after) == (None,) * 3
    assert (job.car_there_from, job.back_by, dict(job.site.downwind)) == (None, None, {})
    assert (job.driven_until, job.washed_until, job.heading_deg) == (None, None, None)
    assert (job.customer, job.process, job.site.latitude) == (Customer(), "wing", 48.1)


def test_job_of_a_vanished_process_can_still_be_changed(bookings, store):
    """A process that left the catalogue does not hold its jobs fast; a new one must be known."""
    bookings.add(FORM)
    store.jobs["J1"] = replace(store.jobs["J1"], process="gone")
    assert bookings.change("J1", JobForm(note="ring first")).process == "gone"
    with pytest.raises(
        InputError, match="process 'door-scuf' is not known; did you mean 'door-scuff'"
    ):
        bookings.change("J1", JobForm(process="door-scuf"))
    assert bookings.change("J1", JobForm(process="door-scuff")).process == "door-scuff"


def test_yesterdays_job_can_still_be_noted(bookings, store):
    """Only a new day is held against the calendar."""
    bookings.add(FORM)
    store.jobs["J1"] = replace(store.jobs["J1"], day=date(2027, 5, 1))
    assert bookings.change("J1", JobForm(note="left a rag")).customer.note == "left a rag"


def test_change_to_another_site(bookings):
    """A job may go to a stored site or a new one; its old site stays as it was."""
    bookings.add(FORM)
    bookings.add(form(site="Quarry", latitude="48.3", longitude="11.6"))
    assert bookings.change("J1", JobForm(site="Quarry")).site == bookings.get("J2").site
    with pytest.raises(InputError, match="'Harbour' is new; give its latitude"):
        bookings.change("J1", JobForm(site="Harbour"))
    bookings.add(FORM)
    with pytest.raises(BookingError, match="another site called 'Quarry', 33 km away"):
        bookings.change("J3", JobForm(site="Quarry", latitude="48.6", longitude="11.6"))
    assert bookings.get("J3").site.name == "Mill Lane"


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        (JobForm(), InputError, "Nothing about job J1 would change"),
        (JobForm(process="wing"), InputError, "Nothing about job J1 would change"),
        (JobForm(ref="J2"), InputError, "Job J1 keeps its reference"),
        (JobForm(back_by="09:00"), InputError, "must be back by 09:00"),
        (JobForm(panels=()), InputError, "has no panel"),
    ],
)
def test_change_that_cannot_be(bookings, change, error, words):
    """A change that is none, or leads to an impossible job, is refused and leaves the job."""
    before = bookings.add(FORM)
    with pytest.raises(error, match=words):
        bookings.change("J1", change)
    assert bookings.get("J1") == before
    assert len(bookings.history("J1")) == 1


def test_cancel_keeps_job_and_reason(bookings):
    """A cancelled job stays to be seen, with why; it can be neither changed nor cancelled again."""
    bookings.add(FORM)
    job = bookings.cancel("J1", " rain all week ", by="page")
    assert job.state is JobState.CANCELLED
    assert bookings.get("J1") == job
    assert bookings.history("J1")[1] == JobEvent(NOW, Event.CANCELLED, "page", "rain all week")
    for act in (lambda: bookings.cancel("J1"), lambda: bookings.change("J1", JobForm(day="today"))):
        with pytest.raises(BookingError, match="Job J1 is cancelled; add a new job"):
            act()
    with pytest.raises(InputError, match="why holds a line break"):
        bookings.cancel("J1", "a\nb")


@pytest.mark.parametrize("name", ["get", "history", "cancel"])
def test_job_that_is_not_there(bookings, name):
    """A reference nobody knows gets one sentence."""
    with pytest.raises(BookingError, match="There is no job J9; look for it"):
        getattr(bookings, name)("J9")


def test_list_shows_what_is_to_come(bookings, store):
    """From today on by the site's calendar, booked only; or what is asked for."""
    for day in ("2027-05-03", "2027-05-04", "2027-05-08"):
        bookings.add(form(day=day))
    bookings.add(form(day="2027-05-05"))
    bookings.cancel("J4")
    store.jobs["J1"] = replace(store.jobs["J1"], day=date(2027, 5, 2))

    def refs(*days, **options):
        return [job.ref for job in bookings.list(*days, **options)]

    assert refs() == ["J2", "J3"]
    assert refs(None, date(2027, 5, 5)) == ["J2"]
    assert refs(date(2027, 5, 1), date(2027, 5, 4)) == ["J1", "J2"]
    assert refs(everything=True) == ["J1", "J2", "J4", "J3"]
    assert refs(date(2027, 5, 5), everything=True) == ["J4", "J3"]


def test_list_keeps_jobs_where_it_is_still_that_day(store):
    """Far west it is still yesterday: that day's job is still to come."""
    bookings = Bookings(store, CATALOGUE, lambda: NOW)
    bookings.add(form(zone="Pacific/Honolulu", day="today"))
    assert [job.day for job in bookings.list()] == [NOW.date() - timedelta(days=1)]


def test_store_that_fails_is_passed_on(store):
    """A fault of the store reaches the caller as it is."""

    def fail():
        raise StoreError("The database is full; free some space.")

    store.sites = fail
    with pytest.raises(StoreError, match="free some space"):
        Bookings(store, CATALOGUE, lambda: NOW).add(FORM)


def test_range_faults_carry_their_numbers(bookings):
    """A number out of range is a RangeError, so that a page can mark the field."""
    with pytest.raises(RangeError, match="latitude") as caught:
        bookings.add(form(latitude="-200.5"))
    assert (caught.value.name, caught.value.value) == ("latitude", -200.5)
