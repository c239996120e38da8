using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Running;
using Throughline.Benchmarks;

// "sizes" and "batch" print one table in half a minute; everything else is BenchmarkDotNet's.
if (args is ["sizes"])
    return SizeComparison.Run();
if (args is ["batch"])
    return BatchComparison.Run();
BenchmarkSwitcher.FromAssembly(typeof(CheckBenchmarks).Assembly)
    .Run(args, DefaultConfig.Instance.WithArtifactsPath(Path.Combine(CheckBenchmarks.Root(), "artifacts", "benchmarks")));
return 0;
