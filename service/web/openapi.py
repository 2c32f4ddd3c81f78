"""The description of the JSON interface at /openapi.json: every refusal is told, each in problem details (RFC 9457)."""

from http import HTTPStatus
from typing import Any

from fastapi import FastAPI

from service.web.problems import PROBLEM

SCHEMA: dict[str, Any] = {
    "title": "Problem",
    "type": "object",
    "description": "Problem details by RFC 9457; `errors` names each field at fault.",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "detail"],
                "properties": {"field": {"type": "string"}, "detail": {"type": "string"}},
            },
        },
    },
}
ALWAYS = {
    "401": "Nobody is signed in.",
    "403": "It is not this person's to see or do.",
    "503": "The studio's book is busy or cannot be written just now. Nothing was changed.",
}
ASKED = {"422": "Something in the address or the body is missing, unknown or cannot be taken; `errors` names each."}
SENT = {
    "413": "More than is taken at once.",
    "507": "There is no room left to write it. Nothing was changed.",
}
OF_FASTAPI = ("HTTPValidationError", "ValidationError")
WAYS_IN = {
    "token": {"type": "http", "scheme": "bearer", "description": "A token made by the command `token EMAIL`."},
    "browser": {"type": "apiKey", "in": "cookie", "name": "stopline", "description": "A browser that is signed in."},
}


class Described(FastAPI):
    """The application, whose description tells what it really answers."""

    def openapi(self) -> dict[str, Any]:
        """The description, made once."""
        if not self.openapi_schema:
            described = super().openapi()
            parts = described.setdefault("components", {})
            parts["schemas"] = {name: kind for name, kind in parts["schemas"].items() if name not in OF_FASTAPI}
            parts["schemas"]["Problem"] = SCHEMA
            parts["securitySchemes"] = WAYS_IN
            described["security"] = [{name: []} for name in WAYS_IN]
            for operations in described["paths"].values():
                for operation in operations.values():
                    _tell_refusals(operation)
        return super().openapi()


def _tell_refusals(operation: dict[str, Any]) -> None:
    told = operation["responses"]
    is_sent = "requestBody" in operation
    refusals = {**ALWAYS, **(ASKED if is_sent or operation.get("parameters") else {}), **(SENT if is_sent else {})}
    for status, words in refusals.items():
        told.setdefault(status, {"description": words})
    if told.get("422", {}).get("description") == "Validation Error":
        told["422"] = {"description": ASKED["422"]}
    for status, answer in told.items():
        if int(status) >= HTTPStatus.BAD_REQUEST:
            answer["content"] = {PROBLEM: {"schema": {"$ref": "#/components/schemas/Problem"}}}
