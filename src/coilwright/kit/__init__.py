"""Devices as labelled, the kit file, and what fits through what."""

from coilwright.kit.access_devices import (
    Catheter,
    Microcatheter,
    Needle,
    NeedleWall,
    Sheath,
    Wire,
    WireEnd,
)
from coilwright.kit.adhesive import Adhesive
from coilwright.kit.coil import Coil, CoilDelivery
from coilwright.kit.delivery import DeliveryCheck, check_deliveries, check_delivery
from coilwright.kit.delivery_ways import Way, Ways, delivery_ways, usable_kit
from coilwright.kit.device import Device, ImpossibleLabel, MrCondition, ValueSource
from coilwright.kit.fits import ChainVerdict, FailingPair, FitAnswer, fits
from coilwright.kit.fits_json import fits_to_json
from coilwright.kit.gtin import gtin_check_digit, is_gtin_14
from coilwright.kit.identifiers import identifier_agency, is_device_identifier
from coilwright.kit.kit import Kit
from coilwright.kit.kit_csv import csv_columns
from coilwright.kit.kit_file import load_kit
from coilwright.kit.lengths import exchange_over, stand_out
from coilwright.kit.named_devices import devices_named
from coilwright.kit.pair_fit import FitVerdict, PairFit
from coilwright.kit.plug import Plug
from coilwright.kit.pushing import push_behind, pusher_end
from coilwright.kit.recalls_file import load_recalls
from coilwright.kit.sclerosant import Sclerosant
from coilwright.kit.snare import Snare
from coilwright.kit.swaps import Mend
from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_checks import Recall, UsedDevice, check_recalled, check_udi
from coilwright.kit.udi_problem import ScanProblem
from coilwright.kit.udi_scan import read_udi
from coilwright.kit.widths import pass_through

__all__ = [
    "Adhesive",
    "Agency",
    "Catheter",
    "ChainVerdict",
    "Coil",
    "CoilDelivery",
    "DeliveryCheck",
    "Device",
    "FailingPair",
    "FitAnswer",
    "FitVerdict",
    "ImpossibleLabel",
    "Kit",
    "Mend",
    "Microcatheter",
    "MrCondition",
    "Needle",
    "NeedleWall",
    "PairFit",
    "Plug",
    "Recall",
    "ScanProblem",
    "Sclerosant",
    "Sheath",
    "Snare",
    "StatedDate",
    "Udi",
    "UsedDevice",
    "ValueSource",
    "Way",
    "Ways",
    "Wire",
    "WireEnd",
    "check_deliveries",
    "check_delivery",
    "check_recalled",
    "check_udi",
    "csv_columns",
    "delivery_ways",
    "devices_named",
    "exchange_over",
    "fits",
    "fits_to_json",
    "gtin_check_digit",
    "identifier_agency",
    "is_device_identifier",
    "is_gtin_14",
    "load_kit",
    "load_recalls",
    "pass_through",
    "push_behind",
    "pusher_end",
    "read_udi",
    "stand_out",
    "usable_kit",
]
