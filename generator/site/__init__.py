"""The only room that knows the site builder: plugin, build, serve, export."""
