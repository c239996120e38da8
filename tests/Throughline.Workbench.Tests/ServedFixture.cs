using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>One workbench for all tests of a class that only look.</summary>
public sealed class ServedFixture : IAsyncLifetime
{
    public Served Served { get; private set; } = null!;

    public async ValueTask InitializeAsync() => Served = await Served.StartAsync();

    public ValueTask DisposeAsync() => Served.DisposeAsync();
}
