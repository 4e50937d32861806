"""What belongs where on this form."""

RIGHT = {
    "heads": {"B1": "part", "F1": "quantity", "B2": "shop", "F2": "inspected_on"},
    "columns": {"A": "number", "B": "name", "C": "nominal", "D": "lower", "E": "upper", "F": "result:0",
                "G": "result:1", "H": "result:2"},
    "first": 6,
    "rows": 10,
}  # fmt: skip
