"""Products: what a bottle is mixed to, how long that lasts, and how much paper it takes.

Those that are shipped are starting points without a brand; those of the printer stand in
``chemistry.toml`` among the settings, and a product there replaces a shipped one of its name.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
)

from controller.chemistry.bath import EIGHT_BY_TEN_M2, Figures
from controller.chemistry.cautions import Kind
from controller.chemistry.dilution import dilution_of
from controller.errors import BadInput, quoted
from controller.written import RIGHT_IS, bad_input, parse, text_of

SHIPPED = Path(__file__).with_name("products.toml")
FILE = "chemistry.toml"
_DAY_H = 24.0


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Life(_Table):
    """How long a working bath lasts, mixed and not used; what is left out is not known."""

    in_tray_h: float | None = Field(None, gt=0, le=100_000)
    full_bottle_days: float | None = Field(None, gt=0, le=10_000)
    half_bottle_days: float | None = Field(None, gt=0, le=10_000)


class Unit(Enum):
    """What a capacity counts."""

    EIGHT_BY_TEN = "8x10"  # sheets of 8x10 in, 0.0516 m2
    SQUARE_METRES = "m2"

    @property
    def area_m2(self) -> float:
        """Give one of it in square metres."""
        return EIGHT_BY_TEN_M2 if self is Unit.EIGHT_BY_TEN else 1.0


class Capacity(_Table):
    """How much paper a litre of working bath takes; what is left out is not known."""

    unit: Unit
    fibre: float | None = Field(None, gt=0, le=10_000)
    resin_coated: float | None = Field(None, gt=0, le=10_000)


def _kind(given: Any) -> Any:
    return given.strip().lower() if isinstance(given, str) else given


class Product(_Table):
    """A product as its label and its data sheet have it."""

    name: str = Field(min_length=1, max_length=60, description="a name in quotes")
    kind: Annotated[Kind, BeforeValidator(_kind)] = Field(description='such as "developer"')
    dilution: str = Field(description='such as "1+9", with a plus')
    temperature_c: float | None = Field(None, ge=5, le=60)
    hazards: str = ""
    safety_sheet: str = Field("", description="where the safety data sheet lies")
    source: str = Field("", description="where the figures come from")
    life: Life = Life()
    capacity: Capacity | None = None

    @field_validator("dilution")
    @classmethod
    def _readable(cls, given: str) -> str:
        try:
            dilution_of(given, "dilution")
        except BadInput as error:
            raise ValueError(f"{error.what}{RIGHT_IS}{error.right}") from None
        return given

    @property
    def cautions(self) -> tuple[str, ...]:
        """Give what its own label adds to the cautions of its kind, and where its sheet lies."""
        said = (
            f"On its label: {self.hazards.strip().rstrip('.')}." if self.hazards.strip() else "",
            f"Its safety data sheet: {self.safety_sheet}." if self.safety_sheet.strip() else "",
        )
        return tuple(each for each in said if each)

    @property
    def figures(self) -> Figures:
        """Give what ages and fills a bath of it."""
        full, half = self.life.full_bottle_days, self.life.half_bottle_days
        held = self.capacity

        def area(count: float | None) -> float | None:
            return None if count is None or held is None else count * held.unit.area_m2

        return Figures(
            fibre_m2_per_l=area(held.fibre) if held else None,
            resin_coated_m2_per_l=area(held.resin_coated) if held else None,
            in_tray_h=self.life.in_tray_h,
            full_bottle_h=None if full is None else full * _DAY_H,
            half_bottle_h=None if half is None else half * _DAY_H,
        )


class _File(_Table):
    version: Literal[1] = 1
    product: tuple[Product, ...] = ()


def read_products(text: str, file: str) -> tuple[Product, ...]:
    """Read a file of products. Raises BadInput with its first fault."""
    try:
        found = _File.model_validate(parse(text, file)).product
    except ValidationError as error:
        raise bad_input(error, file, model=_File) from None
    seen: set[str] = set()
    for product in found:
        if (key := product.name.casefold()) in seen:
            raise BadInput(f"{quoted(product.name)} stands there twice", file, "one of each name")
        seen.add(key)
    return found


@lru_cache(maxsize=1)
def shipped() -> tuple[Product, ...]:
    """Give the starting points."""
    return read_products(SHIPPED.read_text("utf-8"), "the shipped products")


def load_products(folder: Path) -> dict[str, Product]:
    """Give all products by name in small letters, the printer's own first. Raises BadInput."""
    path = folder / FILE
    own = read_products(text_of(path, str(path), "a file"), str(path)) if path.exists() else ()
    found = {product.name.casefold(): product for product in own}
    for product in shipped():
        found.setdefault(product.name.casefold(), product)
    return found


def find_product(products: Mapping[str, Product], name: str, where: str) -> Product:
    """Find one by its name, or by a beginning that only it has. Raises BadInput."""
    key = " ".join(name.casefold().split())
    if key in products:
        return products[key]
    begun = [product for known, product in products.items() if known.startswith(key)]
    if key and len(begun) == 1:
        return begun[0]
    near = get_close_matches(key, products, n=1, cutoff=0.5)
    names = near or list(products)
    right = "one of " * (len(names) > 1) + ", ".join(quoted(products[each].name) for each in names)
    raise BadInput(f"there is no product {quoted(name)}", where, right)
