// Where the page begins.

const place = document.getElementById("app");
if (!place) throw new Error("index.html has no element with the id app");
