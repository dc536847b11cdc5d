"""The errors that a caller may meet.

::

    NestingError
    ├── LengthError        a text that is no length or size
    ├── BatchError         what was asked cannot be planned: every fault is in it
    ├── InputError         a file cannot be used: every fault with its line and column
    ├── RecordError        words that are no record of what is cut
    ├── CutFileError       no cut file can be made of the plan this way
    ├── StashError         the stash cannot do what was asked
    ├── AddressError       no address that the page can be served on
    ├── OutsideError       a name that leads out of the page's folder
    ├── PhotoError         a file that cannot be shown as a photo
    ├── LauncherError      no file to double-click can be made for a folder
    ├── InstanceError      a file without instances of a published set
    ├── PlanFaultError     a plan failed its check: a mistake of this tool
    ├── WorkerError        work that broke off in a process of its own: a mistake of this tool
    └── ArrangementError   an arrangement failed its check: a mistake of this tool

Running out of paper is no error: it is an answer, and stands in the plan.
"""


class NestingError(Exception):
    """What every error of this package is: caught by this name, all of them are."""
