// Before anything is drawn: light or dark as it was chosen last time.
(function () {
    try {
        var look = localStorage.getItem("acquire.look");
        if (look === "light" || look === "dark") document.documentElement.dataset.look = look;
    } catch {
        // A browser that keeps nothing shows the page as the device is set.
    }
})();
