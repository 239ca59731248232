"""The HTTP service. `rungwright.api.app.create_app` builds it; nothing is built at import."""
