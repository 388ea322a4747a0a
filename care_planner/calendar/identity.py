"""Who an event is: an identifier made of what the work means, never of when it falls."""

from uuid import UUID, uuid5


def uid(collection_identity: UUID, key: str) -> str:
    """The UID of a task: UUIDv5 (RFC 9562, 5.5) of its key in the collection's own random namespace.

    A moved task keeps its UID, so a phone moves the event instead of doubling it; and RFC 7986, 5.3,
    allows nothing in a UID that identifies a person, a host or a time.
    """
    return str(uuid5(collection_identity, key))
