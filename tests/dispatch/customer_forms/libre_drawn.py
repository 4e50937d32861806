"""What belongs where on this form."""

RIGHT = {
    "heads": {"B1": "shop", "D1": "drawing", "F1": "drawing_revision", "B2": "order", "D2": "material",
              "F2": "quantity", "B15": "approver", "D15": "approved_on"},
    "columns": {"A": "number", "B": "requirement", "C": "unit", "D": "upper", "E": "lower", "F": "result:0",
                "G": "instrument_tag", "H": "measured_on"},
    "first": 5,
    "rows": 9,
}  # fmt: skip
