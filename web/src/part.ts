// placeholder, see solid
export {};
