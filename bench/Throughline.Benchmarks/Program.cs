using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Running;
using Throughline.Benchmarks;

// "sizes" prints one table in half a minute; everything else is BenchmarkDotNet's.
if (args is ["sizes"])
    return SizeComparison.Run();
BenchmarkSwitcher.FromAssembly(typeof(CheckBenchmarks).Assembly)
    .Run(args, DefaultConfig.Instance.WithArtifactsPath(Path.Combine(CheckBenchmarks.Root(), "artifacts", "benchmarks")));
return 0;
