"""A calendar account over HTTP (CalDAV): Radicale speaks the protocol, carecal holds what it speaks of."""
