"""Static files under hashed names, so that a new release never meets an old module."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """Also rewrites `import` lines of our modules, which Django leaves alone unless asked."""

    support_js_module_import_aggregation = True

    def url_converter(self, name, hashed_files, template=None):  # type: ignore[no-untyped-def]
        convert = super().url_converter(name, hashed_files, template)
        # django-htmx's extension files name modules that it does not ship.
        return (lambda match: match[0]) if name.startswith("django_htmx/") else convert
