from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticStorage(CompressedManifestStaticFilesStorage):
    """Files named by their content, so that a browser may keep them for ever; modules import each other so too."""

    support_js_module_import_aggregation = True
