using Throughline;

return Application.Run(args, Surroundings.OfProcess(), Engine.Default);
