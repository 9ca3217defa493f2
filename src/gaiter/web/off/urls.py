"""Address of loosened or taken off."""

from django.utils.translation import gettext_lazy as _

from gaiter.web.frame.menu import InMenu
from gaiter.web.off import views

urlpatterns = [InMenu("off/", views.off, name="off", title=_("Loosened or off"), place=90)]
