"""What is answered to "have I enough?": papers needed and to buy, cards complete, cards to spare."""

from dataclasses import dataclass

from nesting.plan import Bound, Plan


@dataclass(frozen=True, slots=True)
class ToBuy:
    """Sheets of one size to buy; ``price`` is of one, in hundredths, None where it is not given.

    Width and height in nm, without a barcode strip beyond them.
    """

    width: int
    height: int
    count: int
    price: int | None


@dataclass(frozen=True, slots=True)
class PaperNeed:
    """What a paper's full need comes to.

    ``have`` None is plenty. ``lacking`` sheets are needed, not at hand, and not to be bought;
    ``short`` says that pieces stay uncut for want of the paper, which sheets of several sizes may
    be without a number that is lacking.
    """

    paper: str
    needed: int
    have: int | None
    to_buy: tuple[ToBuy, ...]
    lacking: int
    short: bool
    bound: Bound
    proven: bool

    @property
    def sheets_to_buy(self) -> int:
        """How many sheets are to be bought."""
        return sum(size.count for size in self.to_buy)

    @property
    def price(self) -> int | None:
        """What they cost, in hundredths; None where a price is not given."""
        prices = [size.price for size in self.to_buy]
        known = [price for price in prices if price is not None]
        if len(known) < len(prices):
            return None
        return sum(size.count * price for size, price in zip(self.to_buy, known, strict=True))


@dataclass(frozen=True, slots=True)
class CardNeed:
    """How many cards of a design are complete, what limits them, and how many more there could be.

    ``limited_by`` are the papers of which more would make more of these cards. ``more`` cards of
    this design alone can be cut from sheets that stay unused and offcuts that are kept, as a plan
    was made for them; no plan makes more than ``most_more``. Both are None where every paper is
    there in plenty.
    """

    card: str
    asked: int
    complete: int
    limited_by: tuple[str, ...]
    more: int | None
    most_more: int | None

    @property
    def proven(self) -> bool:
        """Whether no more than ``more`` can be made."""
        return self.more == self.most_more


@dataclass(frozen=True, slots=True)
class Needs:
    """The whole answer, with the plan that it comes from."""

    plan: Plan
    papers: tuple[PaperNeed, ...]
    cards: tuple[CardNeed, ...]

    @property
    def price(self) -> int | None:
        """What everything to buy costs, in hundredths; None where a price is not given."""
        prices = [paper.price for paper in self.papers]
        known = [price for price in prices if price is not None]
        return sum(known) if len(known) == len(prices) else None

    @property
    def proven(self) -> bool:
        """Whether every answer is proven."""
        return self.plan.ended == "proven" and all(card.proven for card in self.cards)
