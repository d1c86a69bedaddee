"""The database of events: kept once, chained, never changed; what is shown of them is worked out from them."""
