() => {
  // texts of the page whose contrast on what lies under them is below 4.5 (3 for large ones), by WCAG 2.2
  const luminance = colour => {
    const part = colour.map(value => value / 255).map(v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4);
    return .2126 * part[0] + .7152 * part[1] + .0722 * part[2];
  };
  const parsed = text => {
    const found = text.match(/[\d.]+/g).map(Number);
    return { colour: found.slice(0, 3), opacity: found.length > 3 ? found[3] : 1 };
  };
  const over = (top, opacity, under) => top.map((value, n) => value * opacity + under[n] * (1 - opacity));
  const ground = element => {
    const chain = [];
    for (; element; element = element.parentElement) chain.push(parsed(getComputedStyle(element).backgroundColor));
    return chain.reverse().reduce((under, one) => over(one.colour, one.opacity, under), [255, 255, 255]);
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const element = walker.currentNode.parentElement, text = walker.currentNode.textContent.trim();
    const shown = element.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
    if (!text || !shown || element.closest("svg,style,script,[disabled],[aria-disabled=true]")) continue;
    const box = element.getBoundingClientRect();
    if (box.width < 2 || box.height < 2) continue;
    const style = getComputedStyle(element), under = ground(element), own = parsed(style.color);
    const [low, high] = [luminance(under), luminance(over(own.colour, own.opacity, under))].sort((a, b) => a - b);
    const contrast = (high + .05) / (low + .05);
    if (contrast < (parseFloat(style.fontSize) >= 24 ? 3 : 4.5) - .01)
      found.push(`${text.slice(0, 40)}: ${contrast.toFixed(2)}`);
  }
  return found;
}
