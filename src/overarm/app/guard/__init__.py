"""Who may ask: five plain ASGI layers, from the outside in: headers, host, origin, token, bodies."""
