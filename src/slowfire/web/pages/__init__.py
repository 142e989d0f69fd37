"""One module a page: read the request, call one service, render its result."""
