from tests.folder_clinic import empty, kept_clinic, real

__all__ = ["empty", "kept_clinic", "real"]
