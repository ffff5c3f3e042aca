"""``dryside chemistry products``: what is mixed, with its figures."""

from __future__ import annotations

from pathlib import Path

from controller.chemistry.product import (
    FILE,
    SHIPPED,
    Product,
    find_product,
    load_products,
    read_products,
    shipped,
)
from controller.errors import BadInput
from controller.written import text_of
from drivers.places import config_folder
from ui import show

LEADS = "starting point; the product's own data sheet leads"


def list_products(*, json_: bool) -> None:
    """List all products."""
    products = load_products(config_folder()).values()
    if json_:
        show.as_json([_json(product) for product in products])
        return
    for product in products:
        whose = "starting point" if product in shipped() else "yours"
        show.cut(f"{product.name:22} {product.kind.value:10} {product.dilution:8} {whose}")


def show_product(name: str, *, json_: bool) -> None:
    """Show one product."""
    product = find_product(load_products(config_folder()), name, "chemistry products show")
    if json_:
        show.as_json(_json(product))
        return
    show.lines(_lines(product))


def _json(product: Product) -> dict[str, object]:
    return {**product.model_dump(mode="json"), "shipped": product in shipped()}


def _lines(product: Product) -> list[str]:
    life, held = product.life, product.capacity
    lasts = [
        f"{amount:g} {unit}"
        for amount, unit in (
            (life.in_tray_h, "h in the tray"),
            (life.full_bottle_days, "days in a full bottle"),
            (life.half_bottle_days, "days in a half bottle"),
        )
        if amount is not None
    ]
    takes = []
    if held:
        unit = "8x10 in equivalents" if held.unit.value == "8x10" else "square metres"
        for amount, base in ((held.fibre, "fibre"), (held.resin_coated, "resin-coated")):
            if amount is not None:
                takes.append(f"{amount:g} {unit} of {base} a litre")
    lines = [f"{product.name}: {product.kind.words}, {product.dilution}"]
    if product.temperature_c is not None:
        lines.append(f"  at {product.temperature_c:g} °C")
    lines.append(f"  lasts {', '.join(lasts) or 'for a time that is not known'}")
    lines.append(f"  takes {', '.join(takes) or 'an amount that is not known'}")
    if product.hazards:
        lines.append(f"  ! {product.hazards}")
    sheet = product.safety_sheet or "its place is not said; keep it near, it leads"
    lines.append(f"  safety data sheet: {sheet}")
    if product.source:
        lines.append(f"  figures: {product.source}")
    if product in shipped():
        lines.append(f"  {LEADS}")
    return lines


def example(to: str) -> None:
    """Print the starting points, or write them to a new file."""
    text = SHIPPED.read_text("utf-8")
    if not to:
        print(text, end="")
        return
    config_folder()  # made, should it be written there
    try:
        with Path(to).open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise BadInput(f"{to} is there already", "--to", "a file that is not there yet") from None
    except OSError as error:
        what = f"{to} cannot be written ({error.strerror})"
        raise BadInput(what, "--to", "a file in a folder of yours") from None
    home = config_folder() / FILE
    read = "where it is read" if Path(to).absolute() == home else f"it is read as {home}"
    print(f"{to} is written; {read}")


def check(file: str) -> None:
    """Read a file of products."""
    path = Path(file) if file else config_folder() / FILE
    right = "a file of products, as dryside chemistry products example prints one"
    found = read_products(text_of(path, str(path), right), str(path))
    print(f"{path} is sound: {', '.join(product.name for product in found) or 'no product'}")
