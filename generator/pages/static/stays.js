// A page without the key for the other units says that its figures stay.
(() => {
  const page = document.querySelector(".ks");
  if (!page || !/\d\s?(°[CF]|k?g|oz|lb)(?!\p{L})/u.test(page.textContent)) return;
  const stays = document.createElement("p");
  stays.className = "ks-stays";
  stays.textContent = "The figures of this page stay in the kitchen's own units. A formula's page has the other ones.";
  (page.querySelector("h1") || page.firstElementChild).after(stays);
})();
