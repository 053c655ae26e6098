"""Minutes and money of a way of holding, for the whole lot."""

from __future__ import annotations

from jawright.shop.model import Blank, Shop

JAW_CUTTING = 12.0  # [min] taken for cutting a pair until its program is known (common practice, no source)


def hard_jaws(shop: Shop, quantity: int) -> tuple[float, float]:
    """(minutes, money) with hard jaws: setup and loading."""
    r = shop.rates
    minutes = r.setup_minutes_hard + r.load_seconds * quantity / 60.0
    return minutes, minutes * r.machine_hour / 60.0


def soft_jaws(shop: Shop, quantity: int, blank: Blank, cutting_minutes: float | None) -> tuple[float, float]:
    """(minutes, money) with a new pair of soft jaws: design, blanks, cutting, setup and loading."""
    r = shop.rates
    cut = JAW_CUTTING if cutting_minutes is None else cutting_minutes
    machine = cut + r.setup_minutes_soft + r.load_seconds * quantity / 60.0
    money = 2 * blank.price + machine * r.machine_hour / 60.0
    money += r.jaw_design_minutes * r.programmer_hour / 60.0
    return machine + r.jaw_design_minutes, money
