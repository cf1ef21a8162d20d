"""Programs that speak to the API over HTTP."""
