"""A record of what is cut: which layouts of a plan, and how many sheets of each."""

from nesting.plan import Plan
from nesting.record import RecordError, read_entries
from nesting.stash.database import StashError


def parse_done(text: str, plan: Plan) -> dict[int, int]:
    """Read a record such as ``1-3, 4: 1 sheet``: by layout, how many sheets of it are cut in all.

    Raises
    ------
    StashError
        It does not read, tells of single steps, or names what the plan does not have.
    """
    alike = {layout.id: layout.alike for layout in plan.layouts}
    done: dict[int, int] = {}
    faults = []
    try:
        entries = read_entries(text)
    except RecordError as error:
        raise StashError(f"done: {error}") from None
    for entry in entries:
        if entry.step is not None:
            read = f"done: {entry}, a part of a sheet"
            faults.append(f"{read}; expected whole sheets, such as {entry.first} or 4: 1 sheet")
        elif not alike.keys() >= {entry.first, entry.last}:
            known = f"layouts of the plan, 1 to {max(alike, default=0)}"
            faults.append(f"done: {entry}; expected {known}")
        else:
            for number in range(entry.first, entry.last + 1):
                sheets = entry.sheets or alike[number]
                if sheets > alike[number]:
                    faults.append(f"done: {entry}; expected at most {alike[number]}")
                elif number in done:
                    faults.append(f"done: layout {number} twice; expected each layout once")
                done[number] = sheets
    if faults:
        raise StashError(*faults)
    return done
