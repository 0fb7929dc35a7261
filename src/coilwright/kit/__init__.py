"""Devices as labelled, the kit file, and what fits through what."""

from coilwright.kit.access_devices import (
    Catheter,
    Microcatheter,
    Needle,
    NeedleWall,
    Sheath,
    Wire,
)
from coilwright.kit.coil import Coil, CoilDelivery
from coilwright.kit.delivery import (
    DeliveryCheck,
    Way,
    Ways,
    check_coil_in,
    check_delivery,
    delivery_ways,
    usable_kit,
)
from coilwright.kit.device import Device, ImpossibleLabel, MrCondition
from coilwright.kit.gtin import gtin_check_digit, is_gtin_14
from coilwright.kit.kit import Kit
from coilwright.kit.kit_file import load_kit
from coilwright.kit.pair_fit import FitVerdict, PairFit, pass_through, push_behind, stand_out
from coilwright.kit.sclerosant import Sclerosant

__all__ = [
    "Catheter",
    "Coil",
    "CoilDelivery",
    "DeliveryCheck",
    "Device",
    "FitVerdict",
    "ImpossibleLabel",
    "Kit",
    "Microcatheter",
    "MrCondition",
    "Needle",
    "NeedleWall",
    "PairFit",
    "Sclerosant",
    "Sheath",
    "Way",
    "Ways",
    "Wire",
    "check_coil_in",
    "check_delivery",
    "delivery_ways",
    "gtin_check_digit",
    "is_gtin_14",
    "load_kit",
    "pass_through",
    "push_behind",
    "stand_out",
    "usable_kit",
]
