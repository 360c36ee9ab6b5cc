// The link leaves the address bar and the history; the form on the page still knows it.
if (location.pathname !== "/in/") history.replaceState(null, "", "/in/");
